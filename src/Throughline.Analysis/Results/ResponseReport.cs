using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>Attenuation and phase of the way from the measurand to the converter at one frequency, against direct current.</summary>
/// <param name="Hertz">Frequency.</param>
/// <param name="Decibel">Of the circuit alone; negative attenuates.</param>
/// <param name="Degrees">Of the circuit alone.</param>
/// <param name="WithAveraging">dB, the converter's averaging included.</param>
public sealed record FrequencyPoint(double Hertz, double Decibel, double Degrees, double WithAveraging);

/// <summary>One cause of noise at the display.</summary>
/// <param name="Part">The part, or <c>quantisation</c>.</param>
/// <param name="Rms">Root mean square referred to the measurand, in the specification's unit.</param>
/// <param name="Share">Of the whole noise's square.</param>
public sealed record NoiseCause(string Part, string Kind, double Rms, double Share);

/// <summary>Margins of the feedback loop around one amplifier.</summary>
/// <param name="CrossoverHertz">NaN when the loop gain never falls through 1.</param>
public sealed record LoopStability(string Amplifier, string Stage, double CrossoverHertz, double PhaseMarginDegrees, double GainMargin);

/// <summary>The reading after a step of the measurand: share of its way at a time.</summary>
public sealed record StepPoint(double Seconds, double Converter, double Reading);

/// <summary>How fast, how quiet and how stable an instrument is, on the nominal unit.</summary>
public sealed record ResponseReport
{
    /// <summary>Frequencies from well below the corner to well above the mains.</summary>
    public ImmutableArray<FrequencyPoint> Frequencies { get; init; } = [];

    /// <summary>The same to be drawn; null unless it was asked for.</summary>
    public ResponseCurve? Curve { get; init; }

    /// <summary>Frequency at which the circuit has lost 3 dB, Hz; NaN when it never does.</summary>
    public double CornerHertz { get; init; } = double.NaN;

    /// <summary>Attenuation of 50 and 60 Hz, averaging included, dB, positive.</summary>
    public double Rejection50 { get; init; } = double.NaN;

    public double Rejection60 { get; init; } = double.NaN;

    /// <summary>Sensor and conditioning alone: time to nine tenths at the converter, s.</summary>
    public double ConverterT90 { get; init; } = double.NaN;

    /// <summary>Length of the window that the converter averages over, s.</summary>
    public double AveragingSeconds { get; init; }

    /// <summary>Output converter to loop: time to nine tenths, s; 0 without a loop.</summary>
    public double OutputT90 { get; init; }

    /// <summary>Step of the measurand to nine tenths at the display, s: when it comes at the worst moment of a block of readings.</summary>
    public double DisplayT90 { get; init; } = double.NaN;

    /// <summary>Step of the measurand to nine tenths at the loop, s.</summary>
    public double LoopT90 { get; init; } = double.NaN;

    public ImmutableArray<StepPoint> Step { get; init; } = [];

    /// <summary>Noise at the display, root mean square, in the specification's unit.</summary>
    public double NoiseRms { get; init; } = double.NaN;

    /// <summary>The same peak to peak: 6.6 standard deviations of what is noise, left by one reading in a thousand, and what the converter's steps add: a step that no noise moves is one step at most, whatever its root mean square.</summary>
    public double NoisePeakToPeak { get; init; } = double.NaN;

    /// <summary>Causes, greatest first.</summary>
    public ImmutableArray<NoiseCause> Noise { get; init; } = [];

    public ImmutableArray<LoopStability> Loops { get; init; } = [];

    /// <summary>Whether every mode of the whole network dies away.</summary>
    public bool IsStable { get; init; }

    /// <summary>The slowest mode that does not die away, rad/s; NaN when all do.</summary>
    public double GrowingRate { get; init; } = double.NaN;
}
