using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>One line of an error budget: a limit of a part and what it does to the result.</summary>
/// <param name="Name">What errs.</param>
/// <param name="Limit">Greatest error of the cause, in its own unit; the sign does not matter.</param>
/// <param name="Sensitivity">Change of the result per unit of the cause.</param>
/// <param name="Remaining">Part of the line that is left after adjustment: 1 nothing is removed, 0 all of it.</param>
public sealed record ErrorLine(string Name, double Limit, double Sensitivity = 1, double Remaining = 1)
{
    public double Remaining { get; init; } = Remaining is >= 0 and <= 1 ? Remaining : throw new ArgumentOutOfRangeException(nameof(Remaining), Remaining, "0 to 1.");

    /// <summary>Greatest error of the result, not negative.</summary>
    public double Error => Math.Abs(Limit * Sensitivity);

    /// <summary>What is left of it after adjustment.</summary>
    public double ErrorAfterAdjustment => Error * Remaining;
}

/// <summary>Limits of error added up: straight, which nothing exceeds, and as the root of the sum of squares, which independent causes seldom exceed.</summary>
/// <param name="Lines">All in the unit of the result.</param>
public sealed record ErrorBudget(ImmutableArray<ErrorLine> Lines)
{
    /// <summary>Straight sum of the limits.</summary>
    public double WorstCase => Lines.Sum(l => l.Error);

    public double RootSumOfSquares => Math.Sqrt(Lines.Sum(l => l.Error * l.Error));

    public double WorstCaseAfterAdjustment => Lines.Sum(l => l.ErrorAfterAdjustment);

    public double RootSumOfSquaresAfterAdjustment => Math.Sqrt(Lines.Sum(l => l.ErrorAfterAdjustment * l.ErrorAfterAdjustment));
}
