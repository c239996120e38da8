using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Nomograms;

/// <summary>Where everything of the nomogram stands, in pixels. The measurand rises upwards, and so every scale stands as the intended chain lays it.</summary>
internal sealed class NomogramLayout
{
    private const double Top = 58;
    private const double Bottom = 26;
    private const double LeftSide = 64;
    private const double RightSide = 72;
    private const double LeastTickDistance = 26;

    /// <summary>Scales farther apart than this have room for a value and the next scale's marks side by side.</summary>
    private const double RoomForBoth = 108;

    /// <summary>Checks about the values that stand on the scales: others, of what a fault does or what a part bears, leave a right value black.</summary>
    private static readonly HashSet<string> OfValues =
    [
        "stage does what its intent says", "sensor polarity", "headroom at amplifier output", "amplifier input range", "reading independent of the supplies", "reading independent of the grounds",
        "converter range used", "converter range exceeded", "converter pins within their absolute limits", "display follows the measurand", "scaling constants agree with the stages",
        "output scaling constants agree with the stages", "accuracy at display", "accuracy at loop", "scale agrees with the range", "output range", "loop follows the measurand", "loop compliance",
    ];

    /// <summary>Mean width of a letter of a name.</summary>
    private const double Letter = 6.8;

    /// <summary>Width of a digit of a value.</summary>
    private const double Digit = 7.6;

    /// <summary>How far above its point a value is written.</summary>
    public const double ValueRise = 11;

    private readonly double _low;
    private readonly double _high;

    private NomogramLayout(double width, double height, double low, double high)
    {
        Width = width;
        Height = height;
        _low = low;
        _high = high;
    }

    public double Width { get; }

    public double Height { get; }

    /// <summary>Upper end of every axis.</summary>
    public static double AxisTop => Top;

    /// <summary>Lower end of every axis.</summary>
    public double AxisBottom => Height - Bottom;

    /// <summary>The measurand's value at the lower end of the axes.</summary>
    public double LowestLevel => _low;

    /// <summary>The measurand's value at the upper end.</summary>
    public double HighestLevel => _high;

    public ImmutableArray<PlacedScale> Scales { get; private init; } = [];

    /// <summary>Ends of the measuring range: two hairlines across.</summary>
    public (double Low, double High) RangeLines { get; private init; }

    public static NomogramLayout Create(SessionState state, Followed followed, double width, double height)
    {
        ImmutableArray<ChainScale> scales = followed.Scales;
        QuantityRange range = followed.Instrument.Specification.Range;
        (double low, double high) = scales.IsEmpty ? (range.Low, range.High) : (scales[0].Measurands[0], scales[0].Measurands[^1]);
        NomogramLayout layout = new(width, height, low, high);
        HashSet<string> notMet = [.. state.Review?.Findings.Where(f => f.Outcome == Outcome.NotMet && OfValues.Contains(f.Check)).Select(f => f.Stage) ?? []];
        double step = scales.Length > 1 ? (width - LeftSide - RightSide) / (scales.Length - 1) : 0;
        List<PlacedScale> placed = [];
        for (int i = 0; i < scales.Length; i++)
        {
            PlacedScale scale = layout.Place(scales[i], LeftSide + (i * step), i, state, followed, notMet);
            placed.Add(scale with
            {
                NameLines = NameLines((scale.IsNotMet ? "■ " : "") + Words.Title(scale.Scale.Name), step),
                NameX = scale.X,
                Room = i == scales.Length - 1 ? RightSide : step,
                TextX = i == scales.Length - 1 ? scale.X + 12 : Math.Min(scale.X + 12, scale.X + step - 6 - (scale.Text.Length * Digit)),
                CoveredAt = i == 0 ? layout.Y(state.Measurand) : step < RoomForBoth && !double.IsNaN(placed[i - 1].Y) ? placed[i - 1].Y - ValueRise : double.NaN,
            });
        }

        if (placed is [var first, var second, ..])
        {
            // The only name that has room beside it.
            double half = HalfWidth(first);
            placed[0] = first with { NameX = Math.Max(half, Math.Min(first.X, second.X - HalfWidth(second) - Letter - half)) };
        }

        return new NomogramLayout(width, height, low, high) { RangeLines = (layout.Y(range.Low), layout.Y(range.High)), Scales = [.. placed] };
    }

    /// <summary>A name in one line, or in two where the scales stand close: no name runs into the next.</summary>
    private static ImmutableArray<(string Text, double Y)> NameLines(string name, double room)
    {
        int blank = name.LastIndexOf(' ');
        return name.Length * Letter <= room - 4 || blank < 2 ? [(name, 22)] : [(name[..blank], 9), (name[(blank + 1)..], 22)];
    }

    private static double HalfWidth(PlacedScale scale) => scale.NameLines.Max(l => l.Text.Length) * Letter / 2;

    /// <summary>Height of a level; beyond the ends of the axes it is their end.</summary>
    public double Y(double level) =>
        double.IsNaN(level) ? double.NaN : Math.Clamp(AxisBottom - ((level - _low) / (_high - _low) * (AxisBottom - Top)), Top - 6, AxisBottom + 6);

    private bool IsVisible(double level) => level >= _low && level <= _high;

    private PlacedScale Place(ChainScale scale, double x, int index, SessionState state, Followed followed, HashSet<string> notMet)
    {
        QuantityRange range = followed.Instrument.Specification.Range;
        (double askedLow, double askedHigh) = Asked(scale, state, range);
        double value = state.Reading is { } reading ? reading.Values[scale.Column] : double.NaN;
        double other = state.Other is { } o ? OtherValue(scale, o) : double.NaN;
        (double bandLow, double bandHigh) = Band(scale, state.Spread, state.Measurand);
        return new PlacedScale
        {
            Scale = scale,
            Index = index,
            X = x,
            Ticks = Ticks(scale),
            CanLow = Mark(scale, scale.CanLow),
            CanHigh = Mark(scale, scale.CanHigh),
            BeyondTop = Beyond(scale, isAbove: true),
            BeyondBottom = Beyond(scale, isAbove: false),
            AskedTop = Math.Min(Y(scale.LevelOf(askedLow)), Y(scale.LevelOf(askedHigh))),
            AskedBottom = Math.Max(Y(scale.LevelOf(askedLow)), Y(scale.LevelOf(askedHigh))),
            Value = value,
            Y = Y(scale.LevelOf(value)),
            IsBeyond = !double.IsNaN(value) && !IsVisible(scale.LevelOf(value)),
            Intended = scale.ValueAt(state.Measurand),
            OtherY = double.IsNaN(other) ? Y(state.Measurand) : Y(scale.LevelOf(other)),
            BandTop = Math.Min(Y(scale.LevelOf(bandLow)), Y(scale.LevelOf(bandHigh))),
            BandBottom = Math.Max(Y(scale.LevelOf(bandLow)), Y(scale.LevelOf(bandHigh))),
            BandLow = bandLow,
            BandHigh = bandHigh,
            IsNotMet = index > 0 && notMet.Contains(scale.Stage),
        };
    }

    /// <summary>The other revision's reading of the same name: it may have other columns.</summary>
    private static double OtherValue(ChainScale scale, OtherRevision other)
    {
        int column = other.Chain.Columns.ToList().FindIndex(c => c.Name == scale.Name);
        return column >= 0 ? other.Reading.Values[column] : double.NaN;
    }

    private double Mark(ChainScale scale, double value) => scale.LevelOf(value) is var level && IsVisible(level) ? Y(level) : double.NaN;

    /// <summary>The end of what a stage can do that lies past an end of the axis, as it is written there; empty where none does.</summary>
    private string Beyond(ChainScale scale, bool isAbove)
    {
        foreach (double can in new[] { scale.CanLow, scale.CanHigh })
        {
            if (double.IsFinite(can) && scale.LevelOf(can) is var level && (isAbove ? level > _high : level < _low))
            {
                return Words.Value(scale.Shown, can);
            }
        }

        return "";
    }

    /// <summary>Between which values a scale has to move: in the worst case where that was found, else from one end of the range to the other.</summary>
    private static (double Low, double High) Asked(ChainScale scale, SessionState state, QuantityRange range)
    {
        if (state.Review?.WorstCases.FirstOrDefault(w => w.Name == scale.Name && w.Stage == scale.Stage) is { } worst)
        {
            return (worst.Low, worst.High);
        }

        return (scale.ValueAt(range.Low), scale.ValueAt(range.High));
    }

    private static (double Low, double High) Band(ChainScale scale, ImmutableArray<ChainSpread> spread, double measurand)
    {
        if (spread.IsDefaultOrEmpty)
        {
            return (double.NaN, double.NaN);
        }

        int i = 1;
        while (i < spread.Length - 1 && measurand > spread[i].Measurand)
        {
            i++;
        }

        double t = Math.Clamp((measurand - spread[i - 1].Measurand) / (spread[i].Measurand - spread[i - 1].Measurand), 0, 1);
        int c = scale.Column;

        // What is spread about the intention moves with it; between two points it is the spread that is interpolated.
        double At(ChainSpread s, double v) => v - scale.ValueAt(s.Measurand);
        double here = scale.ValueAt(measurand);
        return (
            here + At(spread[i - 1], spread[i - 1].Low[c]) + (t * (At(spread[i], spread[i].Low[c]) - At(spread[i - 1], spread[i - 1].Low[c]))),
            here + At(spread[i - 1], spread[i - 1].High[c]) + (t * (At(spread[i], spread[i].High[c]) - At(spread[i - 1], spread[i - 1].High[c]))));
    }

    /// <summary>Round values, where they stand, none nearer to the one before than text needs.</summary>
    private ImmutableArray<Tick> Ticks(ChainScale scale)
    {
        double unit = scale.Shown.Scale;
        (double a, double b) = (scale.ValueAt(_low) / unit, scale.ValueAt(_high) / unit);
        (double low, double high) = (Math.Min(a, b), Math.Max(a, b));
        double most = Math.Max(2, (AxisBottom - Top) / (LeastTickDistance * 1.6));
        double step = RoundStep((high - low) / most);
        int decimals = Math.Max(0, (int)Math.Ceiling(-Math.Log10(step) - 1e-9));
        List<Tick> ticks = [];
        double last = double.NaN;
        for (double n = Math.Ceiling(low / step); n * step <= high + (step * 1e-9) && ticks.Count < 60; n++)
        {
            double shown = n * step;
            double y = Y(scale.LevelOf(shown * unit));
            if (double.IsNaN(last) || Math.Abs(y - last) >= LeastTickDistance * 0.75)
            {
                ticks.Add(new Tick(y, Engineering.Fixed(shown, Math.Min(decimals, 6))));
                last = y;
            }
        }

        return [.. ticks];
    }

    private static double RoundStep(double least)
    {
        double ten = Math.Pow(10, Math.Floor(Math.Log10(least)));
        double part = least / ten;
        return ten * (part <= 1 ? 1 : part <= 2 ? 2 : part <= 5 ? 5 : 10);
    }
}

/// <summary>A mark on a scale.</summary>
public sealed record Tick(double Y, string Text);

/// <summary>One scale as it is drawn. NaN where there is nothing to draw.</summary>
public sealed record PlacedScale
{
    public required ChainScale Scale { get; init; }

    public required int Index { get; init; }

    public required double X { get; init; }

    /// <summary>The name, in one line or two.</summary>
    public ImmutableArray<(string Text, double Y)> NameLines { get; init; } = [];

    /// <summary>Middle of the name: the axis, but further left where the next name would be in the way.</summary>
    public double NameX { get; init; }

    /// <summary>Height at which the hand, or the value of the scale before, hides what stands left of the axis; NaN where nothing is hidden.</summary>
    public double CoveredAt { get; init; } = double.NaN;

    public required ImmutableArray<Tick> Ticks { get; init; }

    /// <summary>End bar of the least that the stage can do.</summary>
    public required double CanLow { get; init; }

    public required double CanHigh { get; init; }

    /// <summary>Upper end of what the stage is asked to do.</summary>
    /// <summary>What the stage can do beyond the upper end of the axis; empty for an end on it, or where nothing is known.</summary>
    public string BeyondTop { get; init; } = "";

    public string BeyondBottom { get; init; } = "";

    public required double AskedTop { get; init; }

    public required double AskedBottom { get; init; }

    public required double Value { get; init; }

    public required double Y { get; init; }

    /// <summary>Whether the value lies past an end of the axis.</summary>
    public required bool IsBeyond { get; init; }

    /// <summary>To the next axis, px.</summary>
    public double Room { get; init; }

    /// <summary>Where the value's text begins: behind the point, and before the next axis.</summary>
    public double TextX { get; init; }

    public required double Intended { get; init; }

    /// <summary>Where the other revision, or the intention, lies.</summary>
    public required double OtherY { get; init; }

    public required double BandTop { get; init; }

    public required double BandBottom { get; init; }

    public required double BandLow { get; init; }

    public required double BandHigh { get; init; }

    public required bool IsNotMet { get; init; }

    /// <summary>The value as shown.</summary>
    public string Text => Words.Value(Scale.Shown, Value);
}
