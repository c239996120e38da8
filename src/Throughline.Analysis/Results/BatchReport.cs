using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What a virtual batch found.</summary>
public sealed record BatchReport
{
    public required Instrument Instrument { get; init; }

    public required BatchOptions Options { get; init; }

    /// <summary>Units lived; fewer than asked for when it was stopped.</summary>
    public required long Units { get; init; }

    /// <summary>Whether every unit asked for was lived.</summary>
    public bool IsWhole { get; init; } = true;

    /// <summary>In the order of a unit's life.</summary>
    public required ImmutableArray<BatchYield> Yields { get; init; }

    /// <summary>Moment by moment, point by point, display before loop.</summary>
    public required ImmutableArray<BatchReading> Readings { get; init; }

    public required ImmutableArray<BatchSpread> Trimmers { get; init; }

    /// <summary>Units that needed 1, 2, … rounds of the adjustment; the last figure is of that many or more. Empty without an adjustment.</summary>
    public ImmutableArray<long> Rounds { get; init; } = [];

    /// <summary>Zeros and slopes found by the calibrations; empty without one.</summary>
    public ImmutableArray<BatchSpread> Calibrations { get; init; } = [];

    public required ImmutableArray<WorstUnit> Worst { get; init; }

    /// <summary>Empty unless they were asked for.</summary>
    public ImmutableArray<BatchCauses> Causes { get; init; } = [];

    public required BatchConfidence Confidence { get; init; }

    /// <summary>The linear error budget beside what the units in use did, output by output, point by point.</summary>
    public ImmutableArray<BatchAgreement> Agreements { get; init; } = [];
}

/// <summary>The linear method beside the batch, for one output in use at one value of the measurand; errors in the measurand's unit, or A.</summary>
/// <param name="LinearLow">End of the linear method's interval for 95 % of all units.</param>
/// <param name="BatchLow">2.5 % of the batch's units are below.</param>
/// <param name="Tolerance">Within which the ends agree: half a unit of the first significant digit of the batch's standard deviation (JCGM 101:2008, 7.9.2 and 8.1).</param>
/// <param name="Why">What makes them differ, a sentence; null when they agree.</param>
public sealed record BatchAgreement(
    BudgetOutput Output,
    double Point,
    double LinearUncertainty,
    double BatchDeviation,
    double LinearLow,
    double LinearHigh,
    double BatchLow,
    double BatchHigh,
    double Tolerance,
    bool Agrees,
    string? Why);

/// <summary>Units that came through a step of their life.</summary>
/// <param name="Good">How many did.</param>
/// <param name="Of">Of how many.</param>
public sealed record BatchYield(string Name, long Good, long Of)
{
    /// <summary>NaN of none.</summary>
    public double Share => (double)Good / Of;
}

/// <summary>The errors of one reading over all units.</summary>
/// <param name="Test">Name of the conditions.</param>
/// <param name="Point">The measurand, in its unit.</param>
/// <param name="Limit">Greatest allowed error; NaN without one.</param>
public sealed record BatchReading(Moment Moment, string Test, double Point, BudgetOutput Place, double Limit, BatchSpread Errors);

/// <summary>How a figure spreads over the units.</summary>
/// <param name="Mean">NaN when no unit has a finite figure; the same for the rest.</param>
/// <param name="Q025">Below it are 2.5 % of the units.</param>
/// <param name="Q975">Above it are 2.5 %.</param>
/// <param name="LeastUnit">A unit that has the least figure.</param>
/// <param name="Missing">Units without a finite figure.</param>
public sealed record BatchSpread(
    string Name, string Unit, double Mean, double StandardDeviation, double Least, long LeastUnit, double Q005, double Q025, double Median, double Q975, double Q995,
    double Greatest, long GreatestUnit, long Missing)
{
    /// <summary>Bins that hold something, from the lowest up, for a picture.</summary>
    public ImmutableArray<BatchBin> Bins { get; init; } = [];

    internal static BatchSpread Of(string name, string unit, StreamingStatistics s) => new(
        name,
        unit,
        s.Mean,
        s.StandardDeviation,
        s.Smallest?.Value ?? double.NaN,
        s.Smallest?.Unit ?? -1,
        s.Quantile(0.005),
        s.Quantile(0.025),
        s.Quantile(0.5),
        s.Quantile(0.975),
        s.Quantile(0.995),
        s.Largest?.Value ?? double.NaN,
        s.Largest?.Unit ?? -1,
        s.NotFinite)
    {
        Bins = [.. s.Histogram.Bins().Select(b => new BatchBin(b.Low, b.High, b.Count))],
    };
}

/// <summary>Units between two figures.</summary>
public readonly record struct BatchBin(double Low, double High, long Count);

/// <summary>A unit to look at.</summary>
/// <param name="OfLimit">Its greatest error from the calibration on, over its limit.</param>
public sealed record WorstUnit(long Unit, double OfLimit);

/// <summary>What makes one reading scatter, the greatest cause first.</summary>
public sealed record BatchCauses(Moment Moment, double Point, BudgetOutput Place, double StandardDeviation, ImmutableArray<VarianceShare> Shares);

/// <summary>How well the batch knows its own figures.</summary>
/// <param name="Yield">Share of good units.</param>
/// <param name="YieldError">Its standard error, from the scatter over independent sets of units.</param>
/// <param name="IndependentYieldError">The standard error that as many independently drawn units have.</param>
/// <param name="MeanGain">How many times as many independent units would know the mean errors in use as well: the median over points and places. 1 for independent units.</param>
public sealed record BatchConfidence(double Yield, double YieldError, double IndependentYieldError, double MeanGain);
