using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

/// <summary>How the user calibrates.</summary>
public sealed record Calibration
{
    /// <summary>The owner of the standards' parameters, as in <c>calibration first standard</c>.</summary>
    public const string Owner = "calibration";

    /// <summary>The standards in the order asked for.</summary>
    public ImmutableArray<CalibrationStandard> Standards { get; init; } = [];

    /// <summary>Whether the user may enter other values.</summary>
    public bool Settable { get; init; }

    /// <summary>Whether the code knows how the standards' values go with temperature; otherwise it takes the stated value at every temperature.</summary>
    public bool FollowsTemperature { get; init; }

    /// <summary>Temperatures of the standards when the user calibrates, °C; 25 °C alone when nothing is said.</summary>
    public required QuantityRange Temperature { get; init; }

    /// <summary>Accepted slope as a ratio to the theoretical one.</summary>
    public QuantityRange? AcceptSlope { get; init; }

    /// <summary>Accepted zero: half width about the nominal zero, V or in the measurand's unit.</summary>
    public Quantity? AcceptZero { get; init; }

    /// <summary>How far the standards lie apart at least, in the specification's unit: nearer ones are refused. Null when the code does not look.</summary>
    public Quantity? Apart { get; init; }

    /// <summary>Whether a value that the user enters counts for readings at once, before a calibration with it has succeeded.</summary>
    public Located<bool>? EntriesCountAtOnce { get; init; }

    /// <summary>One step of the gain that is kept, as a ratio; null leaves the choice.</summary>
    public Quantity? GainStep { get; init; }

    /// <summary>The word of every product of the calibration; null takes that of the arithmetic.</summary>
    public Located<int>? ProductBits { get; init; }

    /// <summary>Binary places of the ratio that the slope is found as; null leaves the choice.</summary>
    public Located<int>? RatioPlaces { get; init; }

    public Quantity? SteadyWithin { get; init; }

    public Quantity? SteadyFor { get; init; }

    public SourceSpan Span { get; init; }
}

/// <summary>One standard that the user calibrates in: a buffer, a weight, melting ice.</summary>
public sealed record CalibrationStandard
{
    /// <summary>The stated value with its tolerance, in the specification's unit.</summary>
    public required Parameter Value { get; init; }

    /// <summary>Its value against its temperature in °C, the stated value apart from what temperature does to it; null when temperature does nothing.</summary>
    public PiecewiseLinear? Table { get; init; }

    /// <summary>The buffer whose temperature it follows; null for none or where a table is written.</summary>
    public PhBuffer? Buffer { get; init; }

    /// <summary>The value of a standard without tolerance at a temperature, in the specification's unit. Beyond the known temperatures the last known value
    /// is held; NaN for NaN.</summary>
    /// <remarks>A written table is taken as it is. A buffer known by its label keeps its stated value where its family is true to the label (20 or 25 °C) and
    /// moves from there as the family's table does, so that 4.01 stays 4.01 beside a table that begins at 4.005.</remarks>
    public double At(double celsius)
    {
        if (double.IsNaN(celsius))
        {
            return double.NaN;
        }

        if (Table is { } table)
        {
            return table.Y(Math.Clamp(celsius, table.LowestX, table.HighestX));
        }

        double stated = Value.Quantity.Value;
        return Buffer is not { } buffer ? stated : stated + Held(buffer, celsius) - Held(buffer, buffer.Family == BufferFamily.Technical20 ? 20 : 25);

        static double Held(PhBuffer buffer, double celsius) => buffer.Ph(Math.Clamp(celsius, buffer.LowestCelsius, buffer.HighestCelsius));
    }
}
