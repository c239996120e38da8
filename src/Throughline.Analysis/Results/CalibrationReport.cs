using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>A sensor that should not be calibrated any more, and what the code says to it.</summary>
/// <param name="Name">What is wrong with it, such as <c>a slope of 80 %</c>.</param>
public sealed record DeadSensor(string Name, CalibrationVerdict Verdict);

/// <summary>A mistake of the person who calibrates.</summary>
/// <param name="Name">In the trade's words, such as <c>standards swapped</c>.</param>
/// <param name="SlipsThrough">Whether the code accepts it with at least one good sensor.</param>
/// <param name="RefusedBy">What refuses it: the zero, the slope, both, that no line can be made, or <c>not steady</c>; null when it slips through.</param>
/// <param name="Error">Greatest error of the reading afterwards over the measuring range, in the specification's unit, with its sign; NaN when refused.</param>
/// <param name="At">The measurand at which it is greatest; NaN when refused.</param>
public sealed record CalibrationMistake(string Name, bool SlipsThrough, string? RefusedBy, double Error, double At);

/// <summary>
/// What the user's calibration lets through and what it leaves, by the sensor's own law: what the electronics adds is the matter of the error budget.
/// </summary>
public sealed record CalibrationReport
{
    /// <summary>How many standards the user calibrates in.</summary>
    public required int Points { get; init; }

    /// <summary>Unit of zeros: V or the specification's.</summary>
    public required string ZeroUnit { get; init; }

    /// <summary>Zeros that good sensors in standards within their tolerances give, in <see cref="ZeroUnit"/>.</summary>
    public required double LeastZero { get; init; }

    public required double GreatestZero { get; init; }

    /// <summary>Slopes that they give, ratios to the theoretical one.</summary>
    public required double LeastSlope { get; init; }

    public required double GreatestSlope { get; init; }

    /// <summary>Accepted half width of the zero in <see cref="ZeroUnit"/>; infinite without a limit.</summary>
    public required double AcceptedZero { get; init; }

    /// <summary>Accepted slopes; infinite without limits.</summary>
    public required double AcceptedLeastSlope { get; init; }

    public required double AcceptedGreatestSlope { get; init; }

    /// <summary>The good sensor that is refused, the worst one; null when all are accepted.</summary>
    public CalibrationOutcome? Refused { get; init; }

    /// <summary>Sensors that have to be refused.</summary>
    public ImmutableArray<DeadSensor> Dead { get; init; } = [];

    /// <summary>A sensor that is accepted though its signal leaves the converter's range within the measuring range: the voltage at the converter, V, and the measurand; null when there is none.</summary>
    public (double Volts, double Measurand)? OutOfRange { get; init; }

    /// <summary>Mistakes in the order in which a person makes them.</summary>
    public ImmutableArray<CalibrationMistake> Mistakes { get; init; } = [];

    /// <summary>Greatest error of a good sensor just calibrated without a mistake, in the specification's unit.</summary>
    public required double ErrorAtFirst { get; init; }

    /// <summary>Greatest error at the end of the stated interval; that at first when none is stated.</summary>
    public required double ErrorAtEnd { get; init; }

    /// <summary>The measurand at which the error at the end is greatest.</summary>
    public required double WorstAt { get; init; }

    /// <summary>The longest time between calibrations that keeps the allowed error, s; 0 when even a new calibration does not, infinite when nothing drifts.</summary>
    public required double LongestInterval { get; init; }

    /// <summary>The mistake that slips through with the greatest error; null when none does.</summary>
    public CalibrationMistake? WorstMistake => Mistakes.Where(m => m.SlipsThrough).MaxBy(m => double.IsNaN(m.Error) ? double.PositiveInfinity : Math.Abs(m.Error));
}
