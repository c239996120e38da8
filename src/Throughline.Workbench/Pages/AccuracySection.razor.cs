using System.Collections.Immutable;
using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Pages;

/// <summary>The error budget at a chosen point and moment, at the display and at the loop, and the virtual batch.</summary>
public sealed partial class AccuracySection : FollowingSection<ErrorBudgetReport>
{
    /// <summary>Causes that are shown at first.</summary>
    private const int Few = 14;

    /// <summary>Values of one's own that are kept.</summary>
    private const int MostTyped = 12;

    private ImmutableArray<double> _typed = [];
    private double _point = double.NaN;
    private BudgetMoment _moment = BudgetMoment.Rated;
    private bool _showsAll;
    private double _greatest = 1;
    private int _causeCount;

    private string Title => Followed.Instrument.Name.Value;

    private IEnumerable<BudgetTable> Chosen => Found!.Tables.Where(t => t.Measurand == _point && t.Moment == _moment);

    protected override ErrorBudgetReport Find(Instrument instrument, CancellationToken cancel)
    {
        ImmutableArray<double> typed = _typed;
        ErrorBudgetReport report = Reviewer.Budget(instrument);
        cancel.ThrowIfCancellationRequested();
        return typed.IsEmpty ? report : Reviewer.Budget(instrument, [.. report.Points.Union(typed).Order()]);
    }

    // What was chosen may be gone with an edit: then where least is left of what is allowed, as a designer would look there first; the middle where nothing is asked for.
    protected override void Arrived()
    {
        ErrorBudgetReport report = Found!;
        if (!report.Points.Contains(_point) && !report.Points.IsEmpty)
        {
            _point = report.Tables.Where(t => t.Moment == report.Moments[^1] && double.IsFinite(t.Allowed)).MaxBy(t => t.Judged / t.Allowed)?.Measurand
                ?? report.Points[report.Points.Length / 2];
        }

        if (!report.Moments.Contains(_moment) && !report.Moments.IsEmpty)
        {
            _moment = report.Moments[^1];
        }
    }

    private string UnitOf(BudgetOutput output) => output == BudgetOutput.Loop ? Followed.Instrument.Output.Unit : Followed.Instrument.Specification.Unit;

    private void ChoosePoint(string? text)
    {
        if (double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double point) && Found?.Points.Contains(point) == true)
        {
            _point = point;
        }
    }

    private Task TypePoint(string? text)
    {
        QuantityRange range = Followed.Instrument.Specification.Range;
        if (!double.TryParse((text ?? "").Trim().Replace('−', '-').Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out double point) || !double.IsFinite(point))
        {
            return Task.CompletedTask;
        }

        point = Math.Clamp(point, range.Low, range.High);
        _point = point;
        if (Found?.Points.Contains(point) == true)
        {
            return Task.CompletedTask;
        }

        _typed = [.. _typed.TakeLast(MostTyped - 1), point];
        return FindAnewAsync();
    }

    /// <summary>The causes of the chosen point and moment, both outputs side by side, those first that have the greatest share at either.</summary>
    private Cause[] Causes()
    {
        BudgetTable? display = Chosen.FirstOrDefault(t => t.Output == BudgetOutput.Display);
        BudgetTable? loop = Chosen.FirstOrDefault(t => t.Output == BudgetOutput.Loop);
        Dictionary<(string, string), BudgetLine> loops = [];
        foreach (BudgetLine line in loop?.Lines ?? [])
        {
            loops.TryAdd((line.Owner, line.Name), line);
        }

        List<Cause> causes = [];
        foreach (BudgetLine line in display?.Lines ?? [])
        {
            loops.Remove((line.Owner, line.Name), out BudgetLine? there);
            causes.Add(new Cause(line, line, there));
        }

        causes.AddRange(loops.Values.Select(l => new Cause(l, null, l)));
        double most = causes.Select(c => c.Display?.Effect ?? 0).DefaultIfEmpty().Max();
        _greatest = most > 0 ? most : 1;
        _causeCount = causes.Count;
        return [.. causes.OrderByDescending(c => Math.Max(c.Display?.Share ?? 0, c.Loop?.Share ?? 0)).ThenByDescending(c => c.Line.Effect)];
    }

    /// <summary>What moves the display in use at the chosen point, for the unit in hand.</summary>
    private ImmutableArray<BudgetLine> UnitLines => Found?.Tables.FirstOrDefault(t => t.Measurand == _point && t.Moment == Found.Moments[^1] && t.Output == BudgetOutput.Display)?.Lines ?? [];

    private double AllowedAt(BudgetOutput output) => Chosen.FirstOrDefault(t => t.Output == output)?.Allowed ?? double.NaN;

    private static string Share(BudgetLine? line) => line is null ? "" : Engineering.Percent(line.Share, 2);

    /// <summary>The limit is one of use: earlier moments say how far the adjustment and the calibration have to bring a unit.</summary>
    private bool IsJudged(BudgetTable table) => table.Moment == Found!.Moments[^1] && double.IsFinite(table.Allowed);

    private string Verdict(BudgetTable table) => !IsJudged(table) ? "not asked for" : table.Judged > table.Allowed ? "■ not met" : table.Judged > 0.9 * table.Allowed ? "▲ marginal" : "met";

    private string ClassOf(BudgetTable table) => !IsJudged(table) ? "quiet" : table.Judged > table.Allowed ? "not-met" : table.Judged > 0.9 * table.Allowed ? "marginal" : "";

    /// <summary>Parts of a library have their place in a file beside the instrument's.</summary>
    private string PlaceOf(SourceSpan place) => place.Source == Followed.Instrument.Source ? $"line {place.Line}" : $"{System.IO.Path.GetFileName(place.Source?.Name)} line {place.Line}";

    private sealed record Cause(BudgetLine Line, BudgetLine? Display, BudgetLine? Loop);
}
