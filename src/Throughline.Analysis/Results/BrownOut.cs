using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an instrument does while one source from outside falls to nothing and rises again, slowly against everything that starts.</summary>
/// <param name="Source">The supply's name; <c>loop supply</c> for an instrument on two wires.</param>
/// <param name="Stretches">From the stated voltage downwards: within one, the same rails are there and the processor is in the same state.</param>
/// <param name="Unstated">Converters of which no input range is stated: taken to work down to nothing.</param>
/// <param name="Place">Of the source in the file.</param>
public sealed record BrownOut(string Source, ImmutableArray<BrownOutStretch> Stretches, ImmutableArray<string> Unstated, SourceSpan Place);

/// <summary>A stretch of the source's voltage.</summary>
/// <param name="High">Its upper end, V.</param>
/// <param name="Low">Its lower end, V.</param>
/// <param name="Gone">Supplies that give nothing.</param>
/// <param name="Sagging">Supplies that give less than stated.</param>
/// <param name="Processor">What the processor does, in words.</param>
/// <param name="Falling">On the way down.</param>
/// <param name="Rising">On the way up.</param>
public sealed record BrownOutStretch(
    double High, double Low, ImmutableArray<string> Gone, ImmutableArray<string> Sagging, string Processor, BrownOutLoop Falling, BrownOutLoop Rising);

/// <summary>The loop within a stretch, over it and over the measuring range.</summary>
/// <param name="Output">What the output converter gives, in words.</param>
/// <param name="Least">Least current, A; NaN where the network has no operating point.</param>
/// <param name="Greatest">Greatest current, A.</param>
/// <param name="Falseness">How far the worst current lies inside what a receiver takes for a measured value that it is not, mA; below 0 for none.</param>
/// <param name="Worst">That current, A.</param>
/// <param name="WorstAt">The source's voltage there, V.</param>
public sealed record BrownOutLoop(string Output, double Least, double Greatest, double Falseness, double Worst, double WorstAt);
