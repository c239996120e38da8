namespace Throughline.Analysis;

/// <summary>
/// A step response sampled once, with its running integral, so that averages over any window cost nothing. Samples stand closer at the start, where fast
/// filters are; between them the curve is straight, which a relative error below 10⁻³ of the step allows.
/// </summary>
internal sealed class StepCurve
{
    private const int Samples = 160;
    private readonly double[] _times = new double[Samples + 1];
    private readonly double[] _shares = new double[Samples + 1];
    private readonly double[] _integrals = new double[Samples + 1];

    /// <param name="share">Share of the way gone at a time, s; 1 in the end.</param>
    /// <param name="settled">Time after which it stays within a ten-thousandth of its end, s.</param>
    /// <param name="lag">Time constant of a first-order lag in front, such as the sensor's own, s; 0 is none.</param>
    public StepCurve(Func<double, double> share, double settled, double lag = 0)
    {
        // e^−9.3 is a ten-thousandth.
        Settled = settled + (9.3 * lag);
        double inner = 0;
        double before = 0;
        for (int i = 0; i <= Samples; i++)
        {
            double part = (double)i / Samples;
            _times[i] = Settled * part * part;
            double direct = _times[i] >= settled ? 1 : share(_times[i]);
            if (lag > 0 && i > 0)
            {
                // The lag's answer to a straight piece from `before` to `direct`, exactly: linear parts commute, so it may as well come last.
                double run = _times[i] - _times[i - 1];
                double slope = (direct - before) / run;
                inner = direct - (lag * slope) + ((inner - before + (lag * slope)) * Math.Exp(-run / lag));
            }
            else
            {
                inner = lag > 0 ? 0 : direct;
            }

            before = direct;
            _shares[i] = inner;
            if (i > 0)
            {
                _integrals[i] = _integrals[i - 1] + ((_times[i] - _times[i - 1]) * (_shares[i] + _shares[i - 1]) / 2);
            }
        }
    }

    /// <summary>s.</summary>
    public double Settled { get; }

    /// <summary>Share of the way gone at a time; 0 before the step, 1 after it has settled.</summary>
    public double Share(double seconds)
    {
        if (seconds < 0)
        {
            return 0;
        }

        if (seconds >= Settled)
        {
            return 1;
        }

        (int i, double t) = Find(seconds);
        return _shares[i] + (t * (_shares[i + 1] - _shares[i]));
    }

    /// <summary>Mean of the share over a window that ends at a time; the share itself without a window.</summary>
    public double Mean(double seconds, double window) =>
        window > 0 ? (Integral(seconds) - Integral(seconds - window)) / window : Share(seconds);

    /// <summary>First time at which the mean over a window reaches a level below 1, s.</summary>
    public double TimeToReach(double level, double window)
    {
        double end = Settled + window;
        double before = 0;
        const int Steps = 2 * Samples;
        for (int i = 1; i <= Steps; i++)
        {
            double part = (double)i / Steps;
            double time = end * part * part;
            if (Mean(time, window) >= level)
            {
                double after = time;
                for (int k = 0; k < 50; k++)
                {
                    double middle = (before + after) / 2;
                    (before, after) = Mean(middle, window) >= level ? (before, middle) : (middle, after);
                }

                return after;
            }

            before = time;
        }

        return double.NaN;
    }

    private double Integral(double seconds)
    {
        if (seconds <= 0)
        {
            return 0;
        }

        if (seconds >= Settled)
        {
            return _integrals[Samples] + seconds - Settled;
        }

        (int i, double t) = Find(seconds);
        double run = seconds - _times[i];
        double end = _shares[i] + (t * (_shares[i + 1] - _shares[i]));
        return _integrals[i] + (run * (_shares[i] + end) / 2);
    }

    private (int Index, double Part) Find(double seconds)
    {
        int i = Math.Clamp((int)(Samples * Math.Sqrt(seconds / Settled)), 0, Samples - 1);
        while (i > 0 && _times[i] > seconds)
        {
            i--;
        }

        while (i < Samples - 1 && _times[i + 1] <= seconds)
        {
            i++;
        }

        return (i, (seconds - _times[i]) / (_times[i + 1] - _times[i]));
    }
}
