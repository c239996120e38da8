using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>One unit of a batch: what it is made of and what became of it.</summary>
public sealed record UnitReport
{
    public required Instrument Instrument { get; init; }

    public required ulong Seed { get; init; }

    public required long Unit { get; init; }

    /// <summary>In the order of the file.</summary>
    public required ImmutableArray<UnitDraw> Draws { get; init; }

    /// <summary>In the order of the procedure.</summary>
    public required ImmutableArray<UnitStep> Steps { get; init; }

    /// <summary>How often the procedure was gone through; 0 without one.</summary>
    public required int Rounds { get; init; }

    /// <summary>Null when nothing is calibrated.</summary>
    public required UnitCalibration? Calibration { get; init; }

    public required ImmutableArray<UnitReading> Readings { get; init; }
}

/// <summary>One figure that was drawn.</summary>
/// <param name="Value">In the unit; of a drift or an error, the deviation.</param>
/// <param name="Centre">What it would be if nothing deviated.</param>
/// <param name="OfLimit">The deviation over its limit, with its sign.</param>
public sealed record UnitDraw(string Name, string Stage, string Unit, double Value, double Centre, double OfLimit);

/// <summary>One step of the adjustment.</summary>
/// <param name="Position">Where the trimmer stands in the end, 0 to 1.</param>
/// <param name="Reading">What the meter reads in the end, V or A.</param>
public sealed record UnitStep(string Name, string Trimmer, double Position, string Meter, string Unit, double Target, double Tolerance, double Reading, bool IsReached);

/// <summary>The user's calibration.</summary>
/// <param name="Zero">In <paramref name="ZeroUnit"/>.</param>
/// <param name="Slope">Over the theoretical one.</param>
public sealed record UnitCalibration(CalibrationVerdict Verdict, double Zero, string ZeroUnit, double Slope, ImmutableArray<double> Signals);

/// <summary>One test of a unit at one value of the measurand.</summary>
/// <param name="DisplayError">In the measurand's unit; NaN without a display.</param>
/// <param name="LoopError">A; NaN without a loop.</param>
public sealed record UnitReading(Moment Moment, string Test, double Point, double DisplayError, double LoopError);
