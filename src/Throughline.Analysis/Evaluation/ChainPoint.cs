namespace Throughline.Analysis;

/// <summary>The whole chain at one state. NaN where the instrument has no such thing.</summary>
public sealed record ChainPoint
{
    /// <summary>In the specification's unit.</summary>
    public required double Measurand { get; init; }

    /// <summary>The sensor's signal, V, Ω, V/V or A.</summary>
    public required double Signal { get; init; }

    /// <summary>Voltage at the converter's input, V.</summary>
    public double ConverterVolts { get; init; } = double.NaN;

    /// <summary>The code before rounding and before the ends of the range.</summary>
    public double ExactCode { get; init; } = double.NaN;

    /// <summary>The code.</summary>
    public double Code { get; init; } = double.NaN;

    /// <summary>What the arithmetic makes of the code, unrounded, in the specification's unit.</summary>
    public double Indicated { get; init; } = double.NaN;

    /// <summary>What it would make of the unrounded code.</summary>
    public double IndicatedExact { get; init; } = double.NaN;

    /// <summary>What the display shows.</summary>
    public double Display { get; init; } = double.NaN;

    /// <summary>The current that the arithmetic asks for, A.</summary>
    public double WantedValue { get; init; } = double.NaN;

    public double OutputCode { get; init; } = double.NaN;

    /// <summary>What the output converter is told to give, V.</summary>
    public double DriveVolts { get; init; } = double.NaN;

    /// <summary>A.</summary>
    public double LoopValue { get; init; } = double.NaN;

    /// <summary>Voltages of the test points in the order of <see cref="Model.TestPoints"/>, V.</summary>
    public double[] TestPoints { get; init; } = [];

    /// <summary>What is not as it should be; null when all is.</summary>
    public string? Remark { get; init; }
}
