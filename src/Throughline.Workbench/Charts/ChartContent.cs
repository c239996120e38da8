using System.Collections.Immutable;

namespace Throughline.Workbench.Charts;

/// <summary>What a chart shows.</summary>
/// <param name="Title">What it shows, for a reader who does not see it.</param>
public sealed record ChartContent(string Title, ChartAxis Horizontal, ChartAxis Vertical)
{
    public ImmutableArray<ChartBars> Bars { get; init; } = [];

    public ImmutableArray<ChartLine> Lines { get; init; } = [];

    public ImmutableArray<ChartLimit> Limits { get; init; } = [];
}

/// <summary>One axis; an end that is NaN follows from what is shown.</summary>
/// <param name="IsCount">Whether its values are whole numbers.</param>
public sealed record ChartAxis(string Title, double Low = double.NaN, double High = double.NaN, bool IsLogarithmic = false, bool IsCount = false);

/// <summary>Bars of a histogram.</summary>
public sealed record ChartBars(ImmutableArray<(double Low, double High, double Value)> Bars);

/// <summary>Whose line it is.</summary>
public enum ChartLineKind
{
    Plain,

    /// <summary>Of the instrument in hand.</summary>
    Live,

    /// <summary>Of the other revision.</summary>
    Other,
}

/// <summary>One curve.</summary>
public sealed record ChartLine(ImmutableArray<(double X, double Y)> Points, ChartLineKind Kind = ChartLineKind.Live);

/// <summary>A limit.</summary>
/// <param name="Text">Beside it; may be empty.</param>
/// <param name="IsStrong">Whether it may not be crossed.</param>
public sealed record ChartLimit(double At, bool IsVertical, string Text, bool IsStrong = true);
