using System.Numerics;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>
/// What the pulses of a pulse-width output leave of themselves in the loop, in the steady state of the linearised network: the Fourier series of the pulses,
/// each harmonic through the network's own response.
/// </summary>
/// <remarks>
/// A train of pulses of height V and duty d is V·(d + Σ 2 sin(πnd)/(πn)·cos(2πnt/T)), centred on t = 0. The series ends where a harmonic is less than
/// 1e-7 of the first, or at the 2048th: behind one RC section, where harmonics fall as 1/n², half a thousandth of the ripple is left out, behind two nothing.
/// </remarks>
internal sealed class PulseRipple
{
    private const int MostHarmonics = 2048;
    private const double Negligible = 1e-7;
    private const int Points = 128;

    private readonly Complex[] _harmonics;
    private readonly double _level;

    private PulseRipple(double hertz, double level, Complex[] harmonics, double order)
    {
        Hertz = hertz;
        _level = level;
        _harmonics = harmonics;
        Order = order;
    }

    /// <summary>Frequency of the pulses.</summary>
    public double Hertz { get; }

    /// <summary>By which power of the frequency the response falls at the pulses: 1 for one RC section, 2 for two.</summary>
    public double Order { get; }

    /// <summary>The ripple of an instrument's loop; null without a pulse-width output, a loop, or an operating point.</summary>
    public static PulseRipple? Of(Evaluator evaluator)
    {
        if (evaluator.Model.OutputConverter is not { PulseHertz: { } hertz } dac || evaluator.Instrument.Loop is null)
        {
            return null;
        }

        UnitState state = evaluator.NewState();
        state.Measurand = evaluator.Instrument.Specification.Range.Middle;
        evaluator.Chain(state);
        return evaluator.Field.Solve(state, limited: true).Status == SolveStatus.Solved && evaluator.Field.TryLinearise() is { } signal
            ? Of(signal, evaluator.Model.DriveSlot, evaluator.Model.Field.Output!.Value, hertz, evaluator.NominalOutputReference * dac.Gain)
            : null;
    }

    /// <summary>The ripple of a reading.</summary>
    /// <param name="slot">Of the network, in volts at the pulses' source.</param>
    /// <param name="hertz">Of the pulses.</param>
    /// <param name="level">Height of a pulse, V.</param>
    public static PulseRipple Of(SmallSignal signal, int slot, Probe probe, double hertz, double level)
    {
        List<Complex> harmonics = [];
        for (int n = 1; n <= MostHarmonics; n++)
        {
            harmonics.Add(signal.Transfer(slot, probe, n * hertz));
            if (Complex.Abs(harmonics[^1]) < Negligible * n * Complex.Abs(harmonics[0]))
            {
                break;
            }
        }

        double half = Complex.Abs(signal.Transfer(slot, probe, hertz / 2));
        return new PulseRipple(hertz, level, [.. harmonics], Math.Log2(half / Complex.Abs(harmonics[0])));
    }

    /// <summary>From peak to peak at a duty, in the reading's unit.</summary>
    /// <param name="duty">0 to 1; nothing is left at either end.</param>
    public double PeakToPeak(double duty)
    {
        double low = double.PositiveInfinity;
        double high = double.NegativeInfinity;

        // The edges, where a single section turns, and points between.
        for (int i = -2; i < Points; i++)
        {
            double phase = i switch { -2 => duty / 2, -1 => -duty / 2, _ => (double)i / Points };
            Complex turn = Complex.FromPolarCoordinates(1, 2 * Math.PI * phase);
            Complex width = Complex.FromPolarCoordinates(1, Math.PI * duty);
            Complex at = Complex.One;
            Complex open = Complex.One;
            double sum = 0;
            for (int n = 1; n <= _harmonics.Length; n++)
            {
                at *= turn;
                open *= width;
                sum += 2 * open.Imaginary / (Math.PI * n) * ((_harmonics[n - 1].Real * at.Real) - (_harmonics[n - 1].Imaginary * at.Imaginary));
            }

            low = Math.Min(low, sum);
            high = Math.Max(high, sum);
        }

        return _level * (high - low);
    }

    /// <summary>The greatest ripple over a range of duties, and where.</summary>
    public (double PeakToPeak, double Duty) Worst(double lowest, double highest)
    {
        // It is greatest in the middle of the period and smooth: eight steps of what is used, and the middle where it is among it.
        IEnumerable<double> duties = Enumerable.Range(0, 9).Select(i => lowest + ((highest - lowest) * i / 8)).Append(Math.Clamp(0.5, lowest, highest));
        return duties.Select(d => (PeakToPeak(d), d)).MaxBy(p => p.Item1);
    }
}
