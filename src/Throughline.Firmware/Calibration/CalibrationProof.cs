using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A number of a calibration that does not fit its word.</summary>
/// <param name="First">A taking that breaks it; null when only the range says it.</param>
public sealed record CalibrationOverflow(Node Node, CalibrationInputs? First, Int128 Exact, Int128 InWord);

/// <summary>What is proved of a calibration's whole numbers, and what takings show.</summary>
public sealed class CalibrationProof
{
    private const int Takings = 512;
    private const int MostCorners = 4096;

    private static readonly ConditionalWeakTable<CalibrationDesign, CalibrationProof> Known = [];

    private CalibrationProof(CalibrationDesign design)
    {
        Design = design;
        Overflows = [.. design.Program.Nodes.Where(n => !n.Fits).Select(Find)];
        ZeroDivisor = design.ZeroDivisors.IsEmpty ? null : (design.ZeroDivisors[0], Equal());
        if (!Overflows.IsEmpty || ZeroDivisor is not null)
        {
            return;
        }

        foreach (CalibrationInputs inputs in CalibrationTakings.Random(design, 1).Take(Takings))
        {
            CalibrationResult result = design.Judge(inputs);
            if (!result.IsAccepted)
            {
                continue;
            }

            TakingsAccepted++;
            (double error, double at) = ReadingError(inputs, result.Found);
            if (error > Worst)
            {
                (Worst, WorstAt, WorstTaking) = (error, at, inputs);
            }
        }
    }

    public CalibrationDesign Design { get; }

    public ImmutableArray<CalibrationOverflow> Overflows { get; }

    /// <summary>A divisor that can be 0, with a taking that makes it so; null when there is none.</summary>
    public (Node Node, CalibrationInputs First)? ZeroDivisor { get; }

    /// <summary>Takings tried that were accepted.</summary>
    public int TakingsAccepted { get; }

    /// <summary>The most that any of them moves a reading from that of the exact line, in the measurand's unit.</summary>
    public double Worst { get; }

    /// <summary>The measurand at which.</summary>
    public double WorstAt { get; }

    public CalibrationInputs? WorstTaking { get; }

    public static CalibrationProof Of(CalibrationDesign design) => Known.GetValue(design, d => new CalibrationProof(d));

    private CalibrationOverflow Find(Node node)
    {
        Int128[] numbers = new Int128[Design.Program.Nodes.Count];
        foreach (CalibrationInputs inputs in CalibrationTakings.Random(Design, 1).Take(Takings).Concat(Corners()))
        {
            if (Design.Run(inputs, numbers, inWords: false) && numbers[node.Index] is var exact && !node.Word.Holds(exact, exact))
            {
                return new CalibrationOverflow(node, inputs, exact, node.Word.Wrap(exact));
            }
        }

        return new CalibrationOverflow(node, null, 0, 0);
    }

    private IEnumerable<CalibrationInputs> Corners()
    {
        int ends = Design.Points * (Design.Temperatures.IsEmpty ? 2 : 3);
        for (int corner = 0; corner < Math.Min(MostCorners, 1 << ends); corner++)
        {
            int bit = 0;
            long End(Node node) => (long)(((corner >> bit++) & 1) == 0 ? node.Low : node.High);
            yield return new CalibrationInputs(
                [.. Design.Entered.Select(End)], [.. Design.Temperatures.IsEmpty ? Design.Entered.Select(_ => 0L) : Design.Temperatures.Select(End)], [.. Design.Taken.Select(End)]);
        }
    }

    /// <summary>Two standards with the same value, as far as the entries allow, each at the temperature that makes the divisor 0 where one does.</summary>
    private CalibrationInputs Equal()
    {
        ImmutableArray<CalibrationStandardRange> ranges = Design.Standards;
        long celsius = Design.Temperatures.IsEmpty ? 0 : Design.HeldReading(0, (long)Math.Round(UnitState.ReferenceCelsius / ArithmeticDesign.TemperatureStep)).Temperature;
        long low = ranges.Max(r => r.Low);
        long high = ranges.Min(r => r.High);
        long middle = low <= high ? Math.Clamp((low + high) / 2, low, high) : low;
        Int128[] numbers = new Int128[Design.Program.Nodes.Count];
        CalibrationInputs? nearest = null;

        // What temperature does to the two may differ: the entries that make up for it are looked for about the middle.
        const int Reach = 4000;
        for (int i = 0; i <= 2 * Reach; i++)
        {
            long other = middle + (i % 2 == 0 ? i / 2 : -(i + 1) / 2);
            ImmutableArray<long> entered = [.. ranges.Select((r, n) => Math.Clamp(n == 0 ? middle : other, r.Low, r.High))];
            CalibrationInputs inputs = new(entered, [.. entered.Select(_ => celsius)], [.. Design.Taken.Select(t => (long)Int128.Clamp(0, t.Low, t.High))]);
            nearest ??= inputs;
            if (!Design.Run(inputs, numbers, inWords: false))
            {
                return inputs;
            }
        }

        return nearest!;
    }

    /// <summary>How far a reading with the kept numbers lies from one with the exact line, at the worst of five measurands and the ends of the temperatures.</summary>
    private (double Error, double At) ReadingError(CalibrationInputs inputs, CalibrationKept kept)
    {
        (CalibrationLine exact, ChainLaw law) = (ExactLine(inputs), Design.Law);
        double gain = 1 + (Design.KeptGain is { } g ? kept.Gain * g.Step : 0);
        CalibrationLine found = new(kept.Zero * Design.KeptZero.Step, Design.Arithmetic.CalibratesSignal ? 1 / gain : gain);
        (double low, double high) = law.Instrument.Specification.Range is var r ? (r.Low, r.High) : default;
        (double cold, double warm) = SensorForm.Temperatures(law);
        (double worst, double at) = (0, low);
        for (int i = 0; i <= 4; i++)
        {
            double measurand = low + ((high - low) * i / 4);
            foreach (double celsius in cold == warm ? new[] { cold } : [cold, warm])
            {
                double error = Design.Arithmetic.CalibratesSignal
                    ? Math.Abs(law.Indicated(found, SignalOf(exact, measurand, celsius), celsius) - measurand)
                    : Math.Abs(found.Offset - exact.Offset + ((found.Gain - exact.Gain) * (measurand - exact.Offset) / exact.Gain));
                if (error > worst)
                {
                    (worst, at) = (error, measurand);
                }
            }
        }

        return (worst, at);
    }

    private double SignalOf(CalibrationLine line, double measurand, double celsius)
    {
        Sensor sensor = Design.Law.Instrument.Sensor;
        double pivot = sensor.ZeroSignal!.Value;
        return pivot + line.Offset + (line.Gain * (sensor.NominalSignal(measurand, celsius) - pivot));
    }

    /// <summary>The line of the exact computation: least squares, each standard at its own temperature.</summary>
    private CalibrationLine ExactLine(CalibrationInputs inputs)
    {
        int n = Design.Points;
        double[] t = [.. Enumerable.Range(0, n).Select(i => Design.ExactTarget(i, inputs.Entered[i], inputs.Temperature[i]))];
        double[] u = [.. inputs.Taken.Select(k => k * Design.Arithmetic.Uncalibrated.Step)];
        (double[] x, double[] y) = Design.Arithmetic.CalibratesSignal ? (t, u) : (u, t);
        double meanX = x.Average();
        double meanY = y.Average();
        double gain = n == 1 ? 1 : x.Zip(y).Sum(p => (p.First - meanX) * (p.Second - meanY)) / x.Sum(v => (v - meanX) * (v - meanX));
        return new CalibrationLine(meanY - (gain * meanX), gain);
    }
}
