using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>When in the life of a unit its error is asked for. Each moment keeps what the ones before it did.</summary>
public enum BudgetMoment
{
    /// <summary>Built, trimmers where the file says, reference conditions.</summary>
    AsBuilt,

    /// <summary>After the adjustment at the bench, reference conditions.</summary>
    AfterAdjustment,

    /// <summary>Just calibrated by the user, reference conditions.</summary>
    AfterCalibration,

    /// <summary>At every rated condition until the next calibration.</summary>
    Rated,
}

/// <summary>Where the error is seen.</summary>
public enum BudgetOutput
{
    Display,
    Loop,
}

/// <summary>One line of an error budget: what a contribution does to the output at one point and moment.</summary>
/// <param name="Name">What errs, such as <c>R1 resistance</c>.</param>
/// <param name="Owner">The part, supply, stage or place it comes from.</param>
/// <param name="Stage">The stage that the owner belongs to.</param>
/// <param name="Unit">Of the limit; empty for ratios.</param>
/// <param name="Limit">The greatest distance from the stated value; of a normal distribution, what the file calls its limits.</param>
/// <param name="Sensitivity">Change of the output per unit of the contribution, where it is greatest over the moment's conditions.</param>
/// <param name="Effect">Greatest change of the output, not negative, in the output's unit.</param>
/// <param name="StandardUncertainty">In the output's unit.</param>
/// <param name="Share">Of the variance of the table; the shares of a table add up to 1.</param>
public sealed record BudgetLine(
    string Name, string Owner, string Stage, string Unit, double Limit, double Sensitivity, double Effect, double StandardUncertainty, double Share, SourceSpan Place);

/// <summary>The budget of one output at one moment and one value of the measurand. Errors are in the specification's unit at the display and in A at the loop.</summary>
/// <param name="Lines">Greatest effect first; what has none is left out.</param>
public sealed record BudgetTable(BudgetOutput Output, BudgetMoment Moment, double Measurand, ImmutableArray<BudgetLine> Lines)
{
    /// <summary>Error of the nominal unit under reference conditions: what the design itself is wrong by.</summary>
    public required double NominalError { get; init; }

    /// <summary>Error of the mean of all units: the nominal error, and how far the middles of the distributions are from the stated values.</summary>
    public required double MeanError { get; init; }

    /// <summary>Straight sum of the effects.</summary>
    public required double StraightSum { get; init; }

    public required double RootSumOfSquares { get; init; }

    /// <summary>Combined standard uncertainty (JCGM 100:2008, 5.1.2).</summary>
    public required double StandardUncertainty { get; init; }

    /// <summary>By Welch and Satterthwaite (JCGM 100:2008, G.4); infinite where every distribution is known.</summary>
    public required double EffectiveDegreesOfFreedom { get; init; }

    /// <summary>k for 95 %.</summary>
    public required double CoverageFactor { get; init; }

    /// <summary>k u for 95 %.</summary>
    public required double ExpandedUncertainty { get; init; }

    /// <summary>The error allowed, in the unit of the errors.</summary>
    public required double Allowed { get; init; }

    /// <summary>Span of the loop's scale, A, or width of the measuring range.</summary>
    public required double Span { get; init; }

    /// <summary>The error, downwards and upwards, of the two units at the corners that the signs choose, each adjusted, calibrated and solved in full; what rounds and
    /// what is noise is added as in the straight sum. NaN where it was not asked for or can't be had.</summary>
    public double FullLow { get; init; } = double.NaN;

    public double FullHigh { get; init; } = double.NaN;

    /// <summary>Nominal error and straight sum together: no unit inside its limits is further off, as far as the chain is linear.</summary>
    public double WorstCase => Math.Abs(NominalError) + StraightSum;

    /// <summary>Nominal error and root of the sum of squares together.</summary>
    public double LikelyCase => Math.Abs(NominalError) + RootSumOfSquares;

    /// <summary>Error of the mean and expanded uncertainty together: 95 % of all units are within.</summary>
    public double Expanded => Math.Abs(MeanError) + ExpandedUncertainty;

    /// <summary>What is held against the limit: the greater of <see cref="Expanded"/> and <see cref="LikelyCase"/>.</summary>
    public double Judged => Math.Max(Expanded, LikelyCase);

    /// <summary>Worst unit solved in full over the linear worst case; NaN without it.</summary>
    public double FullOverLinear => Math.Max(Math.Abs(FullLow), Math.Abs(FullHigh)) / WorstCase;

    /// <summary>Whether the chain is too curved for the linear method: the worst unit solved in full differs from the linear sum by more than a fifth.</summary>
    public bool IsDoubtful => Math.Abs(FullOverLinear - 1) > 0.2;
}

/// <summary>The error budgets of an instrument.</summary>
/// <param name="Points">Values of the measurand, in the specification's unit.</param>
/// <param name="Moments">Those that the instrument has: without adjustment steps there is nothing after adjustment.</param>
/// <param name="Tables">By output, point and moment. A point at which the nominal unit has no operating point has no table.</param>
public sealed record ErrorBudgetReport(ImmutableArray<double> Points, ImmutableArray<BudgetMoment> Moments, ImmutableArray<BudgetTable> Tables)
{
    /// <summary>What the trim of the output takes away; null without one.</summary>
    public OutputTrimEffect? Trim { get; init; }

    public IEnumerable<BudgetTable> Of(BudgetOutput output, double measurand) => Tables.Where(t => t.Output == output && t.Measurand == measurand);

    public BudgetTable? Find(BudgetOutput output, BudgetMoment moment, double measurand) => Of(output, measurand).FirstOrDefault(t => t.Moment == moment);
}
