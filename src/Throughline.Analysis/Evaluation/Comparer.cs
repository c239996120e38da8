using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Compares two revisions: what was edited, what moved downstream of it, which findings turned.</summary>
internal static class Comparer
{
    /// <summary>Readings closer than this part of their size, or of their column's largest value, have not moved: no meter on the bench tells them apart.</summary>
    private const double Rounding = 1e-5;

    /// <summary>The same for what is integrated over frequency, which has no more digits than its tolerance.</summary>
    private const double NoiseRounding = 1e-4;

    /// <summary>dB. What is attenuated more than this, by a null of the averaging, is nothing; how much more is rounding.</summary>
    private const double GreatestRejection = 140;

    public static Comparison Compare(Review oldReview, Review newReview)
    {
        (Instrument old, Instrument @new) = (oldReview.Instrument, newReview.Instrument);
        Dictionary<string, int> order = Reviewer.StageOrder(@new);
        ImmutableArray<Movement> movements =
        [
            .. Readings(oldReview, newReview)
                .Concat(Ranges(oldReview, newReview))
                .Concat(Responses(oldReview.Response, newReview.Response, newReview.Model))
                .OrderBy(m => order.GetValueOrDefault(m.Stage, order.Count)),
        ];
        ImmutableArray<Turned> turned = [.. Turns(oldReview, newReview)];
        ImmutableArray<string> stages = [.. order.OrderBy(p => p.Value).Select(p => p.Key)];
        HashSet<string> moved = [.. movements.Where(m => m.Moved).Select(m => m.Stage)];
        HashSet<string> looked = [.. movements.Select(m => m.Stage)];
        return new Comparison(
            oldReview,
            newReview,
            Edits(old, @new),
            movements,
            turned,
            [.. stages.Where(moved.Contains)],
            [.. stages.Where(s => looked.Contains(s) && !moved.Contains(s))]);
    }

    /// <summary>Every scalar of the file by its path, where it differs.</summary>
    private static ImmutableArray<Edit> Edits(Instrument old, Instrument @new)
    {
        ImmutableArray<Fact> before = FileFacts.Of(old.Source);
        ImmutableArray<Fact> after = FileFacts.Of(@new.Source);
        Dictionary<string, Fact> known = before.GroupBy(f => f.Path).ToDictionary(g => g.Key, g => g.First());
        HashSet<string> met = [];
        List<Edit> edits = [];
        foreach (Fact fact in after)
        {
            if (!met.Add(fact.Path))
            {
                continue;
            }

            if (!known.TryGetValue(fact.Path, out Fact? was))
            {
                edits.Add(new Edit(fact.Path, null, fact.Text, fact.Span));
            }
            else if (was.Text != fact.Text)
            {
                edits.Add(new Edit(fact.Path, was.Text, fact.Text, fact.Span));
            }
        }

        edits.AddRange(before.Where(f => !met.Contains(f.Path)).DistinctBy(f => f.Path).Select(f => new Edit(f.Path, f.Text, null, f.Span)));
        return [.. edits];
    }

    private static IEnumerable<Movement> Readings(Review before, Review after)
    {
        ImmutableArray<double> points = ReadingsBuilder.DefaultPoints(after.Instrument.Specification);
        ReadingsTable old = points.SequenceEqual(ReadingsBuilder.DefaultPoints(before.Instrument.Specification)) ? before.Readings : ReadingsBuilder.Build(new Evaluator(before.Model), points, null);
        ReadingsTable @new = after.Readings;
        (string Stage, ReadingsColumn Column)[] columns = [.. ReadingsBuilder.Columns(after.Model)];
        string unit = after.Instrument.Specification.Unit;
        for (int c = 1; c < columns.Length; c++)
        {
            int was = old.Columns.ToList().FindIndex(k => k.Name == columns[c].Column.Name);
            if (was < 0)
            {
                continue;
            }

            double size = Enumerable.Range(0, points.Length).Max(r => Math.Abs(old.Rows[r].Values[was]));
            for (int r = 0; r < points.Length; r++)
            {
                double a = old.Rows[r].Values[was];
                double b = @new.Rows[r].Values[c];
                yield return new Movement(
                    columns[c].Stage,
                    $"{columns[c].Column.Name} at {Engineering.WithUnit(Engineering.Number(points[r], 4), unit)}",
                    a,
                    b,
                    columns[c].Column.Unit,
                    HasMoved(a, b, size));
            }
        }
    }

    private static IEnumerable<Movement> Ranges(Review old, Review @new)
    {
        foreach (WorstCase after in @new.WorstCases)
        {
            if (old.WorstCases.FirstOrDefault(w => w.Name == after.Name && w.Stage == after.Stage) is { } before)
            {
                double size = Math.Max(Math.Abs(before.Low), Math.Abs(before.High));
                yield return new Movement(after.Stage, $"{after.Name}, least in the worst case", before.Low, after.Low, after.Unit, HasMoved(before.Low, after.Low, size));
                yield return new Movement(after.Stage, $"{after.Name}, greatest in the worst case", before.High, after.High, after.Unit, HasMoved(before.High, after.High, size));
            }
        }
    }

    private static IEnumerable<Movement> Responses(ResponseReport? old, ResponseReport? @new, Model model)
    {
        if (old is null || @new is null)
        {
            yield break;
        }

        string converter = model.Converter?.Name.Value ?? model.InputStages.LastOrDefault()?.Name.Value ?? "instrument";
        string arithmetic = model.Arithmetic?.Name.Value ?? converter;
        string unit = model.Instrument.Specification.Unit;
        string place = model.Instrument.Output.Place;
        Movement Of(string stage, string name, double a, double b, string unit, double rounding = Rounding) =>
            new(stage, name, a, b, unit, HasMoved(a, b, 0, rounding));
        Movement[] all =
        [
            Of(converter, "corner frequency", old.CornerHertz, @new.CornerHertz, "Hz"),
            Of(converter, "T90 at the converter", old.ConverterT90, @new.ConverterT90, "s"),
            Of(converter, "attenuation of 50 Hz", Math.Min(old.Rejection50, GreatestRejection), Math.Min(@new.Rejection50, GreatestRejection), "dB"),
            Of(converter, "attenuation of 60 Hz", Math.Min(old.Rejection60, GreatestRejection), Math.Min(@new.Rejection60, GreatestRejection), "dB"),
            Of(arithmetic, "T90 at the display", old.DisplayT90, @new.DisplayT90, "s"),
            Of(arithmetic, "noise at the display, root mean square", old.NoiseRms, @new.NoiseRms, unit, NoiseRounding),
            Of(place, "T90 at the " + place, old.LoopT90, @new.LoopT90, "s"),
        ];
        foreach (Movement movement in all.Where(m => !double.IsNaN(m.Old) || !double.IsNaN(m.New)))
        {
            yield return movement;
        }

        foreach (LoopStability after in @new.Loops)
        {
            if (old.Loops.FirstOrDefault(l => l.Amplifier == after.Amplifier) is { } before && double.IsFinite(before.PhaseMarginDegrees) && double.IsFinite(after.PhaseMarginDegrees))
            {
                yield return Of(after.Stage, $"phase margin of {after.Amplifier}", before.PhaseMarginDegrees, after.PhaseMarginDegrees, "°", NoiseRounding);
            }
        }
    }

    private static IEnumerable<Turned> Turns(Review old, Review @new)
    {
        static string Key(Finding f) => f.Check + "\n" + f.Subject;
        Dictionary<string, Finding> before = old.Findings.ToDictionary(Key);
        HashSet<string> met = [];
        foreach (Finding after in @new.Findings)
        {
            met.Add(Key(after));
            Finding? was = before.GetValueOrDefault(Key(after));
            if (was is null || was.Outcome != after.Outcome || was.Statement != after.Statement)
            {
                yield return new Turned(was, after);
            }
        }

        foreach (Finding gone in old.Findings.Where(f => !met.Contains(Key(f))))
        {
            yield return new Turned(gone, null);
        }
    }

    private static bool HasMoved(double a, double b, double size, double rounding = Rounding) =>
        double.IsNaN(a) != double.IsNaN(b) || Math.Abs(a - b) > rounding * Math.Max(size, Math.Max(Math.Abs(a), Math.Abs(b)));
}
