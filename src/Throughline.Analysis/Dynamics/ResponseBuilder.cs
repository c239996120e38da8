using System.Collections.Immutable;
using System.Numerics;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Frequency response, noise, step response and stability of an instrument on its nominal unit, measurand in the middle of its range.</summary>
internal sealed class ResponseBuilder
{
    /// <summary>Slower than this counts as drift, not as noise, Hz: a hundred seconds.</summary>
    private const double LeastNoiseHertz = 0.01;

    private const double MostNoiseHertz = 10e6;

    /// <summary>Stands in the place of a part for the noise of whole codes.</summary>
    public const string Quantisation = "quantisation";

    /// <summary>Peak to peak over root mean square of normal noise that is left by one reading in a thousand: 6.6 σ as in published amplifier notes.</summary>
    public const double PeakToPeak = 6.6;

    /// <summary>Of the noise's square: far finer than a digit of the display.</summary>
    private const double NoiseTolerance = 1e-4;

    private const double MostDrawnHertz = 10e3;

    /// <summary>More than a drawing has pixels.</summary>
    private const int DrawnPoints = 400;

    private readonly Evaluator _evaluator;
    private readonly UnitState _state;
    private readonly SmallSignal _signal;
    private readonly (int Slot, double PerUnit)[] _inputs;
    private readonly bool _isDrawn;

    private ResponseBuilder(Evaluator evaluator, UnitState state, SmallSignal signal, bool isDrawn)
    {
        _isDrawn = isDrawn;
        _evaluator = evaluator;
        _state = state;
        _signal = signal;
        _inputs = evaluator.Field.SlotsPerMeasurand(state, evaluator.Instrument.Specification.Range.Width * 1e-4);
    }

    /// <summary>The report; null when the nominal unit has no operating point to stand on.</summary>
    /// <param name="isDrawn">Whether curves are to be drawn: they then have many more points.</param>
    public static ResponseReport? Build(Evaluator evaluator, bool isDrawn = false)
    {
        UnitState state = evaluator.NewState();
        state.Measurand = evaluator.Instrument.Specification.Range.Middle;

        // The chain sets the drive that belongs to the measurand, so that the output stands in its range too.
        evaluator.Chain(state);
        if (evaluator.Field.Solve(state, limited: true).Status != SolveStatus.Solved || evaluator.Field.TryLinearise() is not { } signal)
        {
            return null;
        }

        ResponseBuilder builder = new(evaluator, state, signal, isDrawn);
        ResponseReport report = new()
        {
            IsStable = builder._signal.IsStable,
            GrowingRate = builder.GrowingRate(),
            Loops = builder.Loops(),
        };
        return builder.AddOutput(builder.AddInput(report));
    }

    private int StepPoints => _isDrawn ? DrawnPoints : 40;

    private double Averaging =>
        _evaluator.Model.Converter is { Every: { } every } adc ? adc.Average * every.Value : 0;

    private double MeanGain(double hertz) =>
        _evaluator.Model.Converter is { Average: > 1, Every: { } every } adc ? MovingAverage.Gain(hertz, every.Value, adc.Average) : 1;

    private ResponseReport AddInput(ResponseReport report)
    {
        if (_evaluator.ObservedProbe(_evaluator.Model.Field) is not { } probe || _inputs.Length == 0)
        {
            return report;
        }

        double atZero = Complex.Abs(Response(probe, 0));
        if (!(atZero > 0))
        {
            return report;
        }

        double Gain(double hertz) => Complex.Abs(Response(probe, hertz)) / atZero;
        double corner = Corner(Gain);
        report = report with
        {
            CornerHertz = corner,
            Rejection50 = -Decibel(Gain(50) * Math.Abs(MeanGain(50))),
            Rejection60 = -Decibel(Gain(60) * Math.Abs(MeanGain(60))),
            AveragingSeconds = Averaging,
            Frequencies = [.. FrequenciesAbout(corner).Select(f => Point(probe, f, Response(probe, 0)))],
        };
        if (_isDrawn)
        {
            report = report with { Curve = Curve(probe, corner) };
        }

        return AddNoise(AddStep(report, probe), probe, atZero);
    }

    private ResponseCurve Curve(Probe probe, double corner)
    {
        FrequencyGrid grid = _evaluator.Model.Converter is { Every: { } every } adc ? new FrequencyGrid(every.Value, adc.Average) : new FrequencyGrid(0, 1);
        Complex atZero = Response(probe, 0);
        double[] hertz = grid.Points(LeastDrawn(corner), MostDrawnHertz, DrawnPoints);
        double step = Math.Pow(MostDrawnHertz / hertz[0], 0.5 / (DrawnPoints - 1));
        return new ResponseCurve(
            [.. hertz.Select(f => Point(probe, f, atZero)).Select(p => p.Hertz > grid.EnvelopeFrom ? p with { WithAveraging = p.Decibel + Decibel(grid.MostGain(p.Hertz / step, p.Hertz * step)) } : p)],
            grid.EnvelopeFrom, LeastAbout(50), LeastAbout(60));

        // A mains frequency moves by a hertz, and off the zero of an average the attenuation is another.
        double LeastAbout(double mains) => Enumerable.Range(-40, 81).Min(i => -Point(probe, mains + (i / 40.0), atZero).WithAveraging);
    }

    /// <summary>V, or A in the loop, per unit of the measurand at a frequency.</summary>
    private Complex Response(Probe probe, double hertz)
    {
        Complex[] perSlot = new Complex[_evaluator.Model.Field.Network.SlotCount];
        _signal.Transfers(probe, hertz, perSlot);
        Complex sum = Complex.Zero;
        foreach ((int slot, double perUnit) in _inputs)
        {
            sum += perSlot[slot] * perUnit;
        }

        return sum;
    }

    private FrequencyPoint Point(Probe probe, double hertz, Complex atZero)
    {
        Complex ratio = Response(probe, hertz) / atZero;
        double decibel = Decibel(Complex.Abs(ratio));
        return new FrequencyPoint(hertz, decibel, ratio.Phase * 180 / Math.PI, decibel + Decibel(Math.Abs(MeanGain(hertz))));
    }

    /// <summary>1-2-5 steps from two decades below the corner to 10 kHz, with the mains among them.</summary>
    private static IEnumerable<double> FrequenciesAbout(double corner)
    {
        SortedSet<double> all = [50, 60];
        for (double decade = LeastDrawn(corner); decade <= MostDrawnHertz; decade *= 10)
        {
            all.UnionWith([decade, 2 * decade, 5 * decade]);
        }

        return all.Where(f => f <= MostDrawnHertz);
    }

    /// <summary>A decade that is at least a decade below the corner, Hz.</summary>
    private static double LeastDrawn(double corner) => Math.Clamp(double.IsFinite(corner) ? Math.Pow(10, Math.Floor(Math.Log10(corner)) - 1) : 0.1, 1e-3, 10);

    /// <summary>Where the gain first falls to 1/√2 of that at direct current, Hz.</summary>
    private static double Corner(Func<double, double> gain)
    {
        const double Half = 0.70710678118654752;
        double low = 1e-4;
        for (double high = low; high <= 1e8; high *= 2)
        {
            if (gain(high) < Half)
            {
                for (int i = 0; i < 24; i++)
                {
                    double middle = Math.Sqrt(low * high);
                    (low, high) = gain(middle) < Half ? (low, middle) : (middle, high);
                }

                return low;
            }

            low = high;
        }

        return double.NaN;
    }

    private ResponseReport AddStep(ResponseReport report, Probe probe)
    {
        if (!report.IsStable)
        {
            return report;
        }

        StepResponse step = _signal.Step(_inputs, probe);
        double slowest = step.SettlingTime(1e-4 * Math.Max(Math.Abs(step.Final), 1e-30));
        double window = report.AveragingSeconds;
        double sensorT90 = _evaluator.Instrument.Sensor.Response?.Value ?? 0;
        StepCurve curve = new(t => step.At(t) / step.Final, double.IsFinite(slowest) ? Math.Max(slowest, 1e-7) : 1e-7, sensorT90 / Math.Log(10));
        double horizon = curve.Settled + window;
        return report with
        {
            ConverterT90 = curve.TimeToReach(0.9, 0),

            // The code averages block after block: what nine tenths of a moving average would have reached just after a block ended shows at the end of the next.
            DisplayT90 = curve.TimeToReach(0.9, window) + window,
            Step = [.. Enumerable.Range(0, StepPoints + 1).Select(i => horizon * i / StepPoints).Select(t => new StepPoint(t, curve.Share(t), curve.Mean(t, window)))],
        };
    }

    private ResponseReport AddNoise(ResponseReport report, Probe probe, double voltsPerUnit)
    {
        // n readings over a time T: what is slower than 1/2T they all share, of what is faster they keep the nth part.
        int count = _evaluator.Model.Converter?.Average ?? 1;
        double shared = report.AveragingSeconds > 0 ? Math.Clamp(1 / (2 * report.AveragingSeconds), LeastNoiseHertz, MostNoiseHertz) : MostNoiseHertz;
        Dictionary<(string, string), double> squares = [];
        Network network = _evaluator.Model.Field.Network;
        Collect(LeastNoiseHertz, shared, 1);
        Collect(shared, MostNoiseHertz, 1.0 / count);
        void Collect(double from, double to, double weight)
        {
            if (to <= from)
            {
                return;
            }

            foreach (NoiseContribution contribution in _signal.Noise(probe, from, to, 0, NoiseTolerance).Contributions)
            {
                (string, string) key = (network.ElementName(contribution.Element).Split('.')[0], contribution.Kind);
                double rms = contribution.Value / voltsPerUnit;
                squares[key] = squares.GetValueOrDefault(key) + (rms * rms * weight);
            }
        }

        double still = 0;
        if (_evaluator.Model.Converter is { } adc)
        {
            // q/√12, fewer the more readings are averaged while noise of at least half a step moves them; else it stays.
            double step = 1 / (_evaluator.CodesPerVolt * voltsPerUnit);
            double moved = Math.Sqrt(squares.Values.Sum()) * Math.Sqrt(adc.Average);
            if (adc.Noise is { } own)
            {
                squares[(adc.Name.Value, "converter noise")] = step * step * own.Value * own.Value / adc.Average;
                moved = Math.Sqrt((moved * moved) + (step * step * own.Value * own.Value));
            }

            double averaged = Math.Abs(moved) > Math.Abs(step) / 2 ? adc.Average : 1;
            squares[(Quantisation, "step of the converter")] = step * step / 12 / averaged;
            still = averaged > 1 ? 0 : Math.Abs(step);
        }

        double all = squares.Values.Sum();
        return report with
        {
            NoiseRms = Math.Sqrt(all),
            NoisePeakToPeak = still == 0 ? PeakToPeak * Math.Sqrt(all) : (PeakToPeak * Math.Sqrt(squares.Where(p => p.Key.Item1 != Quantisation).Sum(p => p.Value))) + still,
            Noise =
            [
                .. squares.OrderByDescending(p => p.Value)
                    .Where(p => p.Value > 0)
                    .Select(p => new NoiseCause(p.Key.Item1, p.Key.Item2, Math.Sqrt(p.Value), p.Value / all)),
            ],
        };
    }

    private ResponseReport AddOutput(ResponseReport report)
    {
        if (_evaluator.Instrument.Loop is null || !report.IsStable)
        {
            return report;
        }

        if (_evaluator.Model.OutputConverter is null || !_evaluator.Model.Field.Elements.TryGetValue(Model.DriveElement, out ElementId drive))
        {
            return report with { LoopT90 = report.ConverterT90 };
        }

        StepResponse step = _signal.Step(
            _evaluator.Model.Field.Network.FirstSlot(drive), 1, _evaluator.Model.Field.Output!.Value);
        double t90 = step.TimeToReach(0.9);

        // Both ways take their time one after the other; the sum is an upper bound of what they take together.
        return report with { OutputT90 = t90, LoopT90 = report.DisplayT90 + t90 };
    }

    private ImmutableArray<LoopStability> Loops()
    {
        List<LoopStability> loops = [];
        foreach (AmplifierPins pins in _evaluator.Model.Field.Amplifiers)
        {
            Part? part = _evaluator.Model.Parts.FirstOrDefault(p => p.Name.Value == pins.Name);
            if (part is not OpAmp { Laws.GainBandwidth: not null } || _evaluator.Field.Point!.State(pins.Element) != AmplifierState.Linear)
            {
                continue;
            }

            LoopMargins margins = _signal.Margins(pins.Element);
            string stage = _evaluator.Model.CircuitStages.First(s => s.Parts.Contains(part)).Name.Value;
            loops.Add(new LoopStability(pins.Name, stage, margins.CrossoverHertz, margins.PhaseMarginDegrees, margins.GainMargin));
        }

        return [.. loops];
    }

    private double GrowingRate()
    {
        double worst = _signal.Poles.Length == 0 ? double.NegativeInfinity : _signal.Poles.Max(p => p.Real);
        return worst >= 0 ? worst : double.NaN;
    }

    private static double Decibel(double ratio) => 20 * Math.Log10(Math.Max(ratio, 1e-15));
}
