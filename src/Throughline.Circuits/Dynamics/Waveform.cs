using System.Collections.Immutable;

namespace Throughline.Circuits;

/// <summary>A value as a function of time, with the times at which it or its slope jumps. At a jump the value is the one after it. Immutable.</summary>
public sealed class Waveform
{
    private readonly Func<double, double> _valueAt;
    private readonly ImmutableArray<double> _breaks;

    private Waveform(Func<double, double> valueAt, ImmutableArray<double> breaks)
    {
        _valueAt = valueAt;
        _breaks = breaks;
    }

    /// <summary>Any function of time in seconds.</summary>
    /// <param name="valueAt">Value at a time, in the slot's unit; at a jump the one after it.</param>
    /// <param name="breaks">Times at which it or its slope jumps, in any order.</param>
    public static Waveform Of(Func<double, double> valueAt, params ReadOnlySpan<double> breaks)
    {
        ArgumentNullException.ThrowIfNull(valueAt);
        foreach (double time in breaks)
        {
            if (!double.IsFinite(time))
                throw new ArgumentOutOfRangeException(nameof(breaks), time, "A time is finite.");
        }

        return new Waveform(valueAt, [.. breaks.ToArray().Order().Distinct()]);
    }

    public static Waveform Constant(double value) => Of(_ => value);

    /// <summary>One value before a time, another from it on.</summary>
    public static Waveform Step(double before, double after, double seconds = 0) => Of(time => time < seconds ? before : after, seconds);

    /// <summary>A straight line from one value to another, constant before and after.</summary>
    /// <param name="before">Until <paramref name="start"/>.</param>
    /// <param name="after">From <paramref name="start"/> + <paramref name="duration"/> on.</param>
    /// <param name="start">s.</param>
    /// <param name="duration">s, above 0.</param>
    public static Waveform Ramp(double before, double after, double start, double duration)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(duration);
        return Of(time => before + ((after - before) * Math.Clamp((time - start) / duration, 0, 1)), start, start + duration);
    }

    /// <summary>Offset + amplitude × sin(2π × hertz × t).</summary>
    public static Waveform Sine(double offset, double amplitude, double hertz)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(hertz);
        return Of(time => offset + (amplitude * Math.Sin(2 * Math.PI * hertz * time))).WithLongestStep(0.05 / hertz);
    }

    /// <summary>Longest step, s, that may be made while this drives a network: by it nothing is stepped over. +∞ unless stated; a sine states a twentieth of its period.</summary>
    public double LongestStep { get; private init; } = double.PositiveInfinity;

    /// <summary>The same, never stepped over by more than a time.</summary>
    /// <param name="seconds">Above 0.</param>
    public Waveform WithLongestStep(double seconds)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(seconds);
        return new Waveform(_valueAt, _breaks) { LongestStep = seconds };
    }

    /// <summary>Value at a time, s.</summary>
    public double At(double seconds) => _valueAt(seconds);

    /// <summary>First break after a time, s; +∞ when there is none.</summary>
    public double NextBreak(double seconds)
    {
        foreach (double time in _breaks)
        {
            if (time > seconds)
                return time;
        }

        return double.PositiveInfinity;
    }
}
