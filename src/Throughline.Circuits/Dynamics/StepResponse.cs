using System.Numerics;

namespace Throughline.Circuits;

/// <summary>Response of a reading to a step, exact at every time for the linearised network. Immutable.</summary>
public sealed class StepResponse
{
    private readonly Modes _modes;
    private readonly double[] _start;
    private readonly double[] _weight;
    private readonly Complex[]? _shares;

    internal StepResponse(Modes modes, double final, double[] start, double[] weight)
    {
        _modes = modes;
        Final = final;
        _start = start;
        _weight = weight;
        _shares = modes.Shares(start, weight);
        Initial = At(0);
        IsStable = modes.FiniteCount == 0 || modes.Rates[0] > 0;
    }

    /// <summary>Change of the reading just after the step.</summary>
    public double Initial { get; }

    /// <summary>Change of the reading when everything has settled; where it would balance, when it never does.</summary>
    public double Final { get; }

    /// <summary>False when a mode grows: then nothing settles.</summary>
    public bool IsStable { get; }

    /// <summary>Change of the reading at a time after the step.</summary>
    /// <param name="seconds">0 or more; 0 is just after the step.</param>
    public double At(double seconds)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(seconds);
        if (_shares is null)
            return Final - _modes.Derivative(_start, _weight, seconds);
        double left = 0;
        for (int m = 0; m < _shares.Length; m++)
        {
            // What is spent is nothing: e⁻⁴⁵ is 3e-20.
            Complex exponent = _modes.Poles[m] * seconds;
            if (exponent.Real > -45)
                left += (_shares[m] * Complex.Exp(exponent)).Real;
        }

        return Final - left;
    }

    /// <summary>First time at which the reading has gone a share of its way, s; NaN when it never does.</summary>
    /// <param name="share">0.9 for T90.</param>
    public double TimeToReach(double share)
    {
        if (!IsStable || _modes.FiniteCount == 0)
            return IsStable ? 0 : double.NaN;
        bool IsReached(double seconds) => (At(seconds) - (share * Final)) * Math.Sign(Final) >= 0;
        if (IsReached(0))
            return 0;
        double horizon = Horizon(1e-12);
        double before = 0;
        for (double time = Shortest(); time <= 2 * horizon; time += Stride(time))
        {
            if (IsReached(time))
                return Bisect(before, time, IsReached);
            before = time;
        }

        return double.NaN;
    }

    /// <summary>Time after which the reading stays within a band about its final value, s; NaN when it never does.</summary>
    /// <param name="band">Half width of the band, in the reading's unit, above 0.</param>
    public double SettlingTime(double band)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(band);
        if (!IsStable)
            return double.NaN;
        bool IsOutside(double seconds) => Math.Abs(At(seconds) - Final) > band;
        double after = Horizon(band / (Math.Abs(Final - Initial) + Math.Abs(Final) + band));
        for (int k = 0; k < 40 && IsOutside(after); k++)
            after *= 1.5;
        double shortest = Shortest();
        for (double time = after; ;)
        {
            time = Math.Max(0, time - Stride(time));
            if (IsOutside(time))
                return Bisect(after, time, IsOutside);
            after = time;
            if (time < 1e-3 * shortest)
                return 0;
        }
    }

    /// <summary>Greatest excursion beyond the final value, as a share of it; 0 when there is none or nothing settles.</summary>
    public double Overshoot()
    {
        if (!IsStable || Final == 0)
            return 0;
        double Excess(double seconds) => (At(seconds) / Final) - 1;
        double best = Excess(0);
        double at = 0;
        double horizon = Horizon(1e-6);
        for (double time = Shortest(); time <= horizon; time += Stride(time))
        {
            if (Excess(time) > best)
                (best, at) = (Excess(time), time);
        }

        if (at > 0)
        {
            double low = Math.Max(0, at - (2 * Stride(at)));
            double high = at + (2 * Stride(at));
            for (int k = 0; k < 80; k++)
            {
                double first = low + ((high - low) / 3);
                double second = high - ((high - low) / 3);
                if (Excess(first) < Excess(second))
                    low = first;
                else
                    high = second;
            }

            best = Math.Max(best, Excess(0.5 * (low + high)));
        }

        return Math.Max(0, best);
    }

    private double Shortest() => _modes.FiniteCount == 0 ? 1 : 0.01 / Fastest(_modes.FiniteCount);

    private double Fastest(int active)
    {
        double fastest = 0;
        for (int k = 0; k < active; k++)
            fastest = Math.Max(fastest, Math.Max(Math.Abs(_modes.Rates[k]), _modes.Frequencies[k]));
        return fastest;
    }

    /// <summary>A step in which nothing that is still alive can go up and come down again.</summary>
    private double Stride(double seconds)
    {
        int active = _modes.ActiveAt(seconds);
        double stride = Math.Max(0.02 * seconds, 1e-300);
        double fastest = 0;
        for (int k = 0; k < active; k++)
            fastest = Math.Max(fastest, _modes.Frequencies[k]);
        return fastest > 0 ? Math.Min(stride, Math.PI / (12 * fastest)) : stride;
    }

    private double Horizon(double share) =>
        _modes.FiniteCount == 0 ? 0 : (Math.Log(1 / Math.Min(share, 0.5)) + 5) / _modes.Rates[0];

    /// <summary>The time between a time where the condition is false and one where it is true.</summary>
    private static double Bisect(double isFalse, double isTrue, Func<double, bool> condition)
    {
        for (int k = 0; k < 100; k++)
        {
            double middle = 0.5 * (isFalse + isTrue);
            if (middle == isFalse || middle == isTrue)
                break;
            if (condition(middle))
                isTrue = middle;
            else
                isFalse = middle;
        }

        return 0.5 * (isFalse + isTrue);
    }
}
