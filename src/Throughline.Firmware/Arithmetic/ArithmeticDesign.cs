using System.Runtime.CompilerServices;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What goes into one run of the arithmetic, as whole numbers.</summary>
/// <param name="Code">Of the converter, the same at every reading of a sum.</param>
/// <param name="Temperature">Of the process or of the terminals, 0.01 °C; ignored where none counts.</param>
/// <param name="Zero">The calibration's offset as kept; ignored where the user does not calibrate.</param>
/// <param name="Gain">The calibration's gain as kept: what it has above one; ignored where it is not calibrated.</param>
public readonly record struct ArithmeticInputs(long Code, long Temperature, long Zero, long Gain);

/// <summary>
/// The integer arithmetic of an instrument: derived from its file, with scalings and words chosen for the least rounding or fixed by the designer.
/// </summary>
public sealed class ArithmeticDesign
{
    /// <summary>Temperatures come as whole hundredths of a degree.</summary>
    public const double TemperatureStep = 0.01;

    private static readonly ConditionalWeakTable<Instrument, ArithmeticDesign> Known = [];

    private ArithmeticDesign(ChainLaw law) => Law = law;

    /// <summary>What it has to compute.</summary>
    public ChainLaw Law { get; }

    public IntegerProgram Program { get; private set; } = new(32);

    /// <summary>Why there is none; null when there is.</summary>
    public string? Trouble { get; private set; }

    public Node Code { get; private set; } = null!;

    /// <summary>The readings added up; the code itself where one reading is taken.</summary>
    public Node Sum { get; private set; } = null!;

    /// <summary>What the sensor gives; null where code and measurand lie on one straight line and nothing needs it.</summary>
    public Node? Signal { get; private set; }

    /// <summary>What a calibration is made of and works on: for an electrode the signal from its nominal zero, else the measurand before the calibration.</summary>
    public Node Uncalibrated { get; private set; } = null!;

    /// <summary>The calibrated measurand.</summary>
    public Node Measurand { get; private set; } = null!;

    /// <summary>Steps of the display; null without a display.</summary>
    public Node? Shown { get; private set; }

    /// <summary>In whole codes, limits and failure current applied; where the output is trimmed, in parts of a code, before the trim.</summary>
    public Node? OutputCode { get; private set; }

    /// <summary>The word of what the output converter is given; null without one.</summary>
    public Word? OutputWord => OutputCode is null ? null : OutputStepsPerCode(Law) == 1 ? OutputCode.Word : Word.For(0, (1L << Law.OutputConverter!.Bits) - 1, Law.Arithmetic.WordBits);

    public Node? Temperature { get; private set; }

    /// <summary>The kept offset of the calibration; null without one.</summary>
    public Node? Zero { get; private set; }

    /// <summary>What the gain of the calibration has above one, for an electrode what its inverse has; null where a calibration leaves it alone.</summary>
    public Node? Gain { get; private set; }

    /// <summary>Whether what is kept of the gain is its inverse, and the zero is one of the signal.</summary>
    public bool CalibratesSignal { get; private set; }

    /// <summary>What rounding may add to the measurand, in its unit.</summary>
    public double Allowed { get; private set; }

    /// <summary>How <see cref="Allowed"/> came about.</summary>
    public string AllowedIs { get; private set; } = "";

    /// <summary>What rounding adds to the output code beyond the measurand's own and the half of a step that any code has.</summary>
    public double OutputError { get; private set; }

    /// <summary>A tenth of a code.</summary>
    public const double OutputAllowed = 0.1;

    /// <summary>Values of the calibrated measurand that count, in its unit: beyond them the tables may end.</summary>
    public (double Low, double High) Region { get; private set; }

    /// <summary>What the sensor's curve gives before the calibration, for those.</summary>
    private (double Low, double High) CurveRegion
    {
        get
        {
            if (Law.Instrument.Sensor.ZeroSignal is not null)
            {
                return Region;
            }

            double[] ends =
            [
                .. from y in new[] { Region.Low, Region.High }
                   from offset in new[] { Law.LeastLine.Offset, Law.GreatestLine.Offset }
                   from gain in new[] { Law.LeastLine.Gain, Law.GreatestLine.Gain }
                   select (y - offset) / gain,
            ];
            return (ends.Min(), ends.Max());
        }
    }

    /// <summary>In how many steps of a code the output code is computed: one, or more where a trim comes after it.</summary>
    internal static int OutputStepsPerCode(ChainLaw law) => law.Instrument.Loop?.Trim is not null && PanelOutputLine.CodesOf(law) is not null ? OutputTrimDesign.StepsPerCode : 1;

    /// <summary>The design of an instrument; null when it has no converter or no arithmetic.</summary>
    public static ArithmeticDesign? Of(Instrument instrument)
    {
        if (Known.TryGetValue(instrument, out ArithmeticDesign? known))
        {
            return known;
        }

        if (ChainLaw.Of(instrument) is not { } law)
        {
            return null;
        }

        ArithmeticDesign design = Create(law);
        Known.AddOrUpdate(instrument, design);
        return design;
    }

    /// <summary>A unit that was never calibrated at 25 °C or the temperature of the process nearest to it.</summary>
    public ArithmeticInputs Nominal(long code) => new(
        code,
        Temperature is { } t ? (long)Int128.Clamp((Int128)Math.Round(UnitState.ReferenceCelsius / TemperatureStep), t.Low, t.High) : 0,
        0,
        0);

    /// <summary>Every corner of what a calibration may leave and of the temperatures, at a code; the nominal one first.</summary>
    public IEnumerable<ArithmeticInputs> Corners(long code)
    {
        ArithmeticInputs nominal = Nominal(code);
        yield return nominal;
        foreach (long t in Ends(Temperature, nominal.Temperature))
        {
            foreach (long z in Ends(Zero, nominal.Zero))
            {
                foreach (long g in Ends(Gain, nominal.Gain))
                {
                    yield return new ArithmeticInputs(code, t, z, g);
                }
            }
        }

        static long[] Ends(Node? node, long nominal) => node is null ? [nominal] : [(long)node.Low, (long)node.High];
    }

    /// <summary>Runs it.</summary>
    /// <param name="numbers">One for each node of the program.</param>
    /// <returns>False where something is divided by zero.</returns>
    public bool Run(in ArithmeticInputs inputs, Span<Int128> numbers, bool inWords)
    {
        Span<Int128> given = stackalloc Int128[4];
        int count = Order(inputs, given);
        return inWords ? Program.RunInWords(given[..count], numbers) : Program.RunExact(given[..count], numbers);
    }

    private int Order(in ArithmeticInputs inputs, Span<Int128> given)
    {
        int count = 0;
        foreach (int index in Program.Inputs)
        {
            given[count++] = index == Code.Index ? inputs.Code : index == Temperature?.Index ? inputs.Temperature : index == Zero?.Index ? inputs.Zero : inputs.Gain;
        }

        return count;
    }

    /// <summary>Runs it in words over readings that were added up.</summary>
    /// <param name="inputs">Its code is not read where there is a sum.</param>
    /// <param name="sum">Of as many readings as a sum has.</param>
    /// <param name="numbers">One for each node of the program.</param>
    /// <returns>False where something is divided by zero.</returns>
    public bool RunOfSum(in ArithmeticInputs inputs, long sum, Span<Int128> numbers)
    {
        Span<Int128> given = stackalloc Int128[4];
        int count = Order(inputs with { Code = Sum == Code ? sum : inputs.Code }, given);
        return Program.RunOfSum(given[..count], sum, numbers);
    }

    /// <summary>What the exact computation makes of the same inputs, in the measurand's unit; NaN when it can make nothing of them.</summary>
    public double Exact(in ArithmeticInputs inputs)
    {
        double celsius = Temperature is null ? SensorForm.Temperatures(Law).Low : inputs.Temperature * TemperatureStep;
        double zero = Zero is null ? 0 : inputs.Zero * Zero.Step;
        double gain = 1 + (Gain is null ? 0 : inputs.Gain * Gain.Step);
        CalibrationLine line = new(zero, CalibratesSignal ? 1 / gain : gain);
        double signal = Law.SignalOfCode(inputs.Code);
        if (_form!.Terminals is not { } terminals)
        {
            return Law.Indicated(line, signal, celsius);
        }

        double nominal = _form.AddsTemperature ? _form.Curve(signal) + celsius : _form.Curve(signal + terminals(celsius));
        return line.Offset + (line.Gain * nominal);
    }

    private SensorForm? _form;
    private Node? _calibratedSignal;

    internal SensorForm Form => _form!;

    private static ArithmeticDesign Create(ChainLaw law)
    {
        ArithmeticDesign frame = new(law);
        double first = law.SignalOfCode(law.LeastCode);
        double last = law.SignalOfCode(law.GreatestCode);
        if (!double.IsFinite(first) || !double.IsFinite(last) || first == last)
        {
            frame.Trouble = "No line from code to signal follows from the stages' intents or from the constants.";
            return frame;
        }

        double middle = (law.LeastCode + law.GreatestCode) / 2;
        bool isStraight = Enumerable.Range(1, 15)
            .Select(i => law.LeastCode + ((law.GreatestCode - law.LeastCode) * i / 16))
            .All(c => Math.Abs(law.SignalOfCode(c) - (first + ((last - first) * (c - law.LeastCode) / (law.GreatestCode - law.LeastCode)))) <= 1e-9 * Math.Abs(last - first));
        frame._form = SensorForm.Of(law, Math.Min(first, last), Math.Max(first, last));
        if (frame._form.Shape == SensorShape.Other)
        {
            frame.Trouble = $"What a {law.Instrument.Sensor.Kind} gives at a temperature is no straight line about a fixed point, and integer arithmetic for it is not known.";
            return frame;
        }

        (frame.Allowed, frame.AllowedIs) = frame.Limit();
        frame.Region = frame.FindRegion();
        ArithmeticDesign? best = null;
        double bestScore = double.PositiveInfinity;
        (double[] steps, double[] resolutions) = frame.Candidates(Math.Abs(last - first));
        foreach (double step in steps)
        {
            ArithmeticDesign begun = new(law) { _form = frame._form, Allowed = frame.Allowed, AllowedIs = frame.AllowedIs, Region = frame.Region };
            bool hasSignal = begun.Begin(step, isStraight);
            foreach (double resolution in resolutions)
            {
                ArithmeticDesign candidate = begun.Copy();
                candidate.ToMeasurand(resolution);
                if (candidate.Score() > bestScore + MostOutputGain)
                {
                    continue;
                }

                candidate.ToOutput(resolution);
                double score = candidate.Score();
                if (score < bestScore)
                {
                    (best, bestScore) = (candidate, score);
                }
            }

            if (!hasSignal)
            {
                // Nothing has the signal's step.
                break;
            }
        }

        return best!;
    }

    /// <summary>What the way to the output can take off a score at most: half a step of the output code that is not lost, and as much again for a slope that is rounded.</summary>
    private const double MostOutputGain = 1;

    /// <summary>The worse, the greater; of a program without its output what that can only add to, but for <see cref="MostOutputGain"/>.</summary>
    private double Score()
    {
        double score = (Measurand.Error / Allowed) + (0.1 * OutputError / OutputAllowed);
        foreach (Node node in Program.Nodes)
        {
            if (!node.Fits)
            {
                score += 1e6 * (1 + node.BitsNeeded - node.Word.Bits);
            }
        }

        return double.IsNaN(score) ? 1e12 : score;
    }

    private (double Allowed, string Is) Limit()
    {
        Specification s = Law.Instrument.Specification;
        return Law.Arithmetic.Choices.RoundingLimit is { Tolerance: > 0 } stated ? (stated.Tolerance, "as stated")
            : s.DisplayStep is { Value: > 0 and double step } ? (step / 10, "a tenth of the display's step")
            : s.DisplayError is { } error ? (error.Absolute(s.Range.Width) / 50, "a fiftieth of the display's error")
            : (s.Range.Width / 10_000, "a ten-thousandth of the measuring range");
    }

    /// <summary>The measuring range with a fiftieth to either side, what the loop's limits ask for, and what is plausible. Farther out a curve may be
    /// so flat that every step of the signal is many degrees.</summary>
    private (double Low, double High) FindRegion()
    {
        QuantityRange range = Law.Instrument.Specification.Range;
        double beyond = range.Width / 50;
        double low = range.Low - beyond;
        double high = range.High + beyond;
        foreach (Quantity? limit in new[] { Law.Instrument.Loop?.Under, Law.Instrument.Loop?.Over })
        {
            if (limit is not null && Law.LoopScale?.Inverse(limit.Value) is { } at && double.IsFinite(at))
            {
                low = Math.Min(low, at - beyond);
                high = Math.Max(high, at + beyond);
            }
        }

        if (Law.Arithmetic.Plausible is { } plausible)
        {
            low = Math.Min(low, plausible.Low - (plausible.Width / 20));
            high = Math.Max(high, plausible.High + (plausible.Width / 20));
        }

        return (low, high);
    }

    private (double[] SignalSteps, double[] Resolutions) Candidates(double span)
    {
        ArithmeticChoices choices = Law.Arithmetic.Choices;
        bool hasTable = _form!.Shape is SensorShape.Curve or SensorShape.ColdJunction;
        double[] steps = choices.Fraction is { } fraction ? [fraction.Step.Value] : [.. SignalSteps()];
        double display = Law.Instrument.Specification.DisplayStep is { Value: > 0 and double d } ? d : Allowed * 10;
        double[] resolutions = choices.Resolution is { } fixedOne ? [fixedOne.Value]
            : [.. (hasTable ? new[] { 10.0, 50, 100 } : [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]).Select(n => display / n)];
        return (steps, resolutions);

        IEnumerable<double> SignalSteps()
        {
            int bits = Math.Min(Law.Arithmetic.WordBits, Law.Arithmetic.Choices.ProductBits?.Value ?? 64);
            (double least, double most) = hasTable ? (bits * 0.4, (bits * 0.4) + 7) : (Math.Min(6, bits / 2), Math.Min(bits - 3, 30));
            for (int decade = (int)Math.Floor(Math.Log10(span)) - 10; decade <= Math.Log10(span); decade++)
            {
                foreach (double digit in new[] { 1.0, 2, 5 })
                {
                    double step = digit * Math.Pow(10, decade);
                    double taken = Math.Log2(span / step);
                    if (taken >= least && taken <= most)
                    {
                        yield return step;
                    }
                }
            }
        }
    }

    /// <summary>From the code to the calibrated signal: what does not depend on the measurand's step.</summary>
    /// <returns>False where code and measurand lie on one straight line, so that there is no signal.</returns>
    private bool Begin(double signalStep, bool isStraight)
    {
        ArithmeticStage stage = Law.Arithmetic;
        ArithmeticChoices choices = stage.Choices;
        Program = new IntegerProgram(stage.WordBits, choices.SumBits?.Value, choices.ProductBits?.Value, choices.Truncates?.Value ?? false);
        Builder b = new(this, Program);
        b.Code();
        CalibratesSignal = Law.Instrument.Sensor.ZeroSignal is not null;
        if (_form!.Shape == SensorShape.Straight && isStraight && !CalibratesSignal && choices.Fraction is null)
        {
            return false;
        }

        Signal = _calibratedSignal = b.SignalLine(signalStep, isStraight);
        if (CalibratesSignal)
        {
            _calibratedSignal = b.CalibrateSignal(Signal, Law.Instrument.Sensor.ZeroSignal!.Value);
        }

        return true;
    }

    /// <summary>A copy to be gone on with.</summary>
    private ArithmeticDesign Copy() => new(Law)
    {
        _form = _form,
        _calibratedSignal = _calibratedSignal,
        Allowed = Allowed,
        AllowedIs = AllowedIs,
        Region = Region,
        Program = new IntegerProgram(Program),
        Code = Code,
        Sum = Sum,
        Signal = Signal,
        Uncalibrated = Uncalibrated,
        Zero = Zero,
        Gain = Gain,
        CalibratesSignal = CalibratesSignal,
    };

    private void ToMeasurand(double resolution)
    {
        Builder b = new(this, Program);
        double reference = CalibratesSignal ? Law.Instrument.Sensor.ZeroSignal!.Value : 0;
        if (_calibratedSignal is not { } signal)
        {
            double first = Law.SignalOfCode(Law.LeastCode);
            double slope = (Law.SignalOfCode(Law.GreatestCode) - first) / (Law.GreatestCode - Law.LeastCode);
            Measurand = b.Straight(
                "reading", Sum, slope * _form!.Slope, _form.FixedMeasurand + (_form.Slope * (first - (slope * Law.LeastCode))), resolution, MeasurandUnit, "stages and sensor in one line");
        }
        else
        {
            Measurand = _form!.Shape switch
            {
                SensorShape.Straight => b.Straight("reading", signal, _form.Slope, _form.FixedMeasurand + (_form.Slope * reference), resolution, MeasurandUnit, "the sensor's line"),
                SensorShape.InverseToTemperature => b.Compensate(signal, _form.FixedSignal - reference, resolution),
                _ => b.Linearise(signal, resolution),
            };
        }

        if (!CalibratesSignal)
        {
            Measurand = b.CalibrateMeasurand(Measurand);
        }
    }

    private void ToOutput(double resolution)
    {
        Builder b = new(this, Program);
        b.Display(resolution);
        b.Output();
    }

    private string MeasurandUnit => Law.Instrument.Specification.Unit;

    /// <summary>Builds the nodes of one candidate.</summary>
    private sealed class Builder(ArithmeticDesign design, IntegerProgram program)
    {
        private readonly ChainLaw _law = design.Law;
        private readonly ProgramParts _parts = new(program);

        private string SignalUnit => _law.Instrument.Sensor.SignalKind switch
        {
            SignalKind.Voltage => "V",
            SignalKind.Resistance => "Ω",
            SignalKind.Current => "A",
            _ => "V/V",
        };

        public void Code()
        {
            design.Code = program.Input("code", (Int128)_law.LeastCode, (Int128)_law.GreatestCode, 1, "", 0, "the converter's code");
            int readings = _law.Converter.Average;
            design.Sum = readings > 1 ? program.Sum("sum", design.Code, readings, FormattableString.Invariant($"{readings} readings added up")) : design.Code;
        }

        public Node SignalLine(double step, bool isStraight)
        {
            double first = _law.SignalOfCode(_law.LeastCode);
            double slope = (_law.SignalOfCode(_law.GreatestCode) - first) / (_law.GreatestCode - _law.LeastCode);
            double atZero = first - (slope * _law.LeastCode);
            return _law.Arithmetic.Choices.Fraction is { } fraction ? Fraction(fraction, step, slope, atZero)
                : isStraight ? Straight("signal", design.Sum, slope, atZero, step, SignalUnit, "what the sensor gives")
                : Curve("signal", design.Sum, _law.SignalOfCode, step, SignalUnit, step, "what the sensor gives, the stages not being one straight line");
        }

        private Node Fraction(CodeFraction fraction, double step, double slope, double atZero)
        {
            Node mean = design.Sum;
            int readings = _law.Converter.Average;
            if (readings > 1)
            {
                Node count = program.Constant("readings", readings, 1, 1.0 / readings, "", "readings of a sum");
                mean = program.Divide("mean", mean, count, "", "mean of the readings");
            }

            Node result;
            if (fraction.DividesFirst)
            {
                Node quotient = program.Constant(
                    "factor", fraction.Multiply / fraction.Divide, slope, step, SignalUnit, FormattableString.Invariant($"{fraction.Multiply} / {fraction.Divide}, of which the whole number stays"));
                result = program.Multiply("signal", mean, quotient, SignalUnit, "what the sensor gives");
            }
            else
            {
                Node multiplier = program.Constant("multiplier", fraction.Multiply, slope, step / fraction.Divide, SignalUnit, "fixed by the designer");
                Node product = program.Multiply("scaled", mean, multiplier, SignalUnit, FormattableString.Invariant($"times {fraction.Multiply}"));
                Node divisor = program.Constant("divisor", fraction.Divide, 1, 1.0 / fraction.Divide, "", "fixed by the designer");
                result = program.Divide("signal", product, divisor, SignalUnit, "what the sensor gives");
            }

            return Math.Abs(atZero) < 1e-12 * Math.Abs(slope) * _law.GreatestCode
                ? result
                : program.Add("signal_shifted", result, program.Constant("signal_at_zero", atZero, step, SignalUnit, "the signal at the code 0"), "what the sensor gives");
        }

        public Node CalibrateSignal(Node signal, double reference)
        {
            if (reference != 0)
            {
                signal = program.Subtract("signal_about_zero", signal, program.Constant("zero_signal", reference, signal.Step, SignalUnit, "what the nominal sensor gives at its zero"), "from the nominal zero");
            }

            design.Uncalibrated = signal;
            if (_law.CalibrationPoints == 0)
            {
                return signal;
            }

            (CalibrationLine least, CalibrationLine greatest) = (_law.LeastLine, _law.GreatestLine);
            design.Zero = program.Input(
                "zero", Down(least.Offset, signal.Step), Up(greatest.Offset, signal.Step), signal.Step, SignalUnit, signal.Step / 2, "the calibration's zero as kept");
            Node above = program.Subtract("above_zero", signal, design.Zero, "from the sensor's own zero");
            return least.Gain == 1 && greatest.Gain == 1 ? above : Calibrated("calibrated", above, 1 / greatest.Gain, 1 / least.Gain, "the signal of a nominal sensor");
        }

        public Node CalibrateMeasurand(Node reading)
        {
            design.Uncalibrated = reading;
            if (_law.CalibrationPoints == 0)
            {
                return reading;
            }

            (CalibrationLine least, CalibrationLine greatest) = (_law.LeastLine, _law.GreatestLine);
            if (least.Gain != 1 || greatest.Gain != 1)
            {
                reading = Calibrated("slope_corrected", reading, least.Gain, greatest.Gain, "the calibration's gain applied");
            }

            design.Zero = program.Input(
                "zero", Down(least.Offset, reading.Step), Up(greatest.Offset, reading.Step), reading.Step, reading.Unit, reading.Step / 2, "the calibration's zero as kept");
            return program.Add("measurand", reading, design.Zero, "as calibrated");
        }

        /// <summary>x + x × (gain − 1): what a gain has above one takes few bits, so that it can be kept the finer.</summary>
        private Node Calibrated(string name, Node x, double least, double greatest, string remark)
        {
            if (_law.Instrument.Calibration?.GainStep is { } stated)
            {
                int units = (int)Math.Round(1 / stated.Value);
                double coarse = 1.0 / units;
                KeepGain(least, greatest, coarse);
                Node scaled = program.Multiply(name + "_product", x, design.Gain!, x.Unit, "times what the gain has above one");
                Node unit = program.Constant("gain_unit", units, 1, coarse, "", "steps of the kept gain in one");
                return program.Add(name, x, program.Divide(name + "_part", scaled, unit, x.Unit, "what the gain adds"), remark);
            }

            int bits = program.ProductBits;
            int places = Math.Min(30, bits - 2);
            double most = Math.Max(Math.Abs((double)x.Low), Math.Abs((double)x.High));
            double size = Math.Max(Math.Abs(least - 1), Math.Abs(greatest - 1));
            while (places > 1 && (Math.Ceiling(Math.ScaleB(size, places)) * most >= Math.ScaleB(1, bits - 1) || Math.ScaleB(size, places) >= Math.ScaleB(1, bits - 1)))
            {
                places--;
            }

            double step = Math.ScaleB(1, -places);
            KeepGain(least, greatest, step);
            Node product = program.Multiply(name + "_product", x, design.Gain!, x.Unit, "times what the gain has above one");
            return program.Add(name, x, program.Shift(name + "_part", product, places, "what the gain adds"), remark);
        }

        private void KeepGain(double least, double greatest, double step) => design.Gain = program.Input(
            "gain", Down(least - 1, step), Up(greatest - 1, step), step, "", step / 2,
            design.CalibratesSignal ? "what the inverse of the calibration's gain has above one, as kept" : "what the calibration's gain has above one, as kept");

        private Node TemperatureInput(string remark)
        {
            (double low, double high) = design._form!.Terminals is null ? SensorForm.Temperatures(_law) : Terminals();
            design.Temperature = program.Input("temperature", (Int128)Math.Round(low / TemperatureStep), (Int128)Math.Round(high / TemperatureStep), TemperatureStep, "°C", 0, remark);
            return design.Temperature;
        }

        private (double Low, double High) Terminals()
        {
            const double Beyond = 10;
            ThermocoupleSensor couple = (ThermocoupleSensor)_law.Instrument.Sensor;
            (double low, double high) = couple.TerminalTemperature is { Quantity: var q } ? (q.Low, q.High) : (_law.Instrument.Specification.Ambient.Low, _law.Instrument.Specification.Ambient.High);
            return (Math.Floor(low) - Beyond, Math.Ceiling(high) + Beyond);
        }

        public Node Compensate(Node signal, double fixedSignal, double resolution)
        {
            string unit = design.MeasurandUnit;
            if (fixedSignal != 0)
            {
                signal = program.Subtract("about_fixed_point", signal, program.Constant("fixed_point", fixedSignal, signal.Step, SignalUnit, "where temperature does nothing"), "from the point where temperature does nothing");
            }

            Node temperature = TemperatureInput("of the process");
            Node kelvin = program.Add("kelvin", temperature, program.Constant("kelvin_at_zero", 273.15, TemperatureStep, "K", "0 °C above the absolute zero"), "absolute temperature", "K");
            Node factor = program.Constant("slope_factor", design._form!.Slope, resolution * TemperatureStep / signal.Step, $"{unit}·K/{signal.Unit}", "slope times temperature");
            Node product = program.Multiply("slope_product", signal, factor, unit + "·K", "times slope times temperature");
            Node quotient = program.Divide("about_zero", product, kelvin, unit, "over the absolute temperature");
            return program.Add("measurand", quotient, program.Constant("zero_point", design._form.FixedMeasurand, resolution, unit, "measurand where temperature does nothing"), "as calibrated and compensated");
        }

        public Node Linearise(Node signal, double resolution)
        {
            SensorForm form = design._form!;
            if (form.Terminals is not { } terminals)
            {
                return Curve("reading", signal, form.Curve, resolution, design.MeasurandUnit, design.Allowed / 4, "the sensor's curve", givesMeasurand: true);
            }

            Node temperature = TemperatureInput("of the terminals");
            if (form.AddsTemperature)
            {
                Node curve = Curve("hot", signal, form.Curve, resolution, design.MeasurandUnit, design.Allowed / 4, "the sensor's curve", givesMeasurand: true);
                return program.Add("reading", curve, Straight("terminals", temperature, 1, 0, resolution, design.MeasurandUnit, "temperature of the terminals"), "with the terminals' temperature added");
            }

            Node emf = Curve("terminals_emf", temperature, terminals, signal.Step, SignalUnit, signal.Step / 4, "the terminals' own emf");
            return Curve("reading", program.Add("emf", signal, emf, "as if the terminals were at 0 °C"), form.Curve, resolution, design.MeasurandUnit, design.Allowed / 4, "the sensor's curve", givesMeasurand: true);
        }

        public Node Straight(string name, Node x, double factor, double added, double step, string unit, string remark) => _parts.Straight(name, x, factor, added, step, unit, remark);

        private Node Curve(string name, Node x, Func<double, double> curve, double step, string unit, double deviation, string remark, bool givesMeasurand = false) =>
            _parts.Curve(name, x, curve, step, unit, deviation, remark, givesMeasurand ? Within(x, curve) : null);

        /// <summary>The part of a node's range where the curve stays in the region that counts.</summary>
        private (Int128 Low, Int128 High) Within(Node x, Func<double, double> curve)
        {
            QuantityRange range = _law.Instrument.Specification.Range;
            double inside = (range.Low + range.High) / 2;
            Int128? Found(Int128 from, Int128 to)
            {
                // A place whose value is nearest to the middle of the range.
                Int128? best = null;
                double distance = double.PositiveInfinity;
                for (int i = 0; i <= 64; i++)
                {
                    Int128 number = from + ((to - from) * i / 64);
                    double d = Math.Abs(curve((double)number * x.Step) - inside);
                    if (d < distance)
                    {
                        (best, distance) = (number, d);
                    }
                }

                return best;
            }

            (double least, double most) = design.CurveRegion;
            bool IsIn(Int128 number) => curve((double)number * x.Step) is var v && v >= least && v <= most;
            if (Found(x.Low, x.High) is not { } centre || !IsIn(centre))
            {
                return (x.Low, x.High);
            }

            return (Edge(centre, x.Low), Edge(centre, x.High));

            Int128 Edge(Int128 good, Int128 bad)
            {
                if (IsIn(bad))
                {
                    return bad;
                }

                while (Int128.Abs(bad - good) > 1)
                {
                    Int128 middle = (good + bad) / 2;
                    (good, bad) = IsIn(middle) ? (middle, bad) : (good, middle);
                }

                return good;
            }
        }

        public void Display(double resolution)
        {
            if (_law.Instrument.Specification.DisplayStep is { Value: > 0 and double step })
            {
                Int128 ratio = Int128.Max(1, (Int128)Math.Round(step / resolution));
                design.Shown = ratio == 1
                    ? design.Measurand
                    : program.Divide(
                        "shown", design.Measurand, program.Constant("steps_per_digit", ratio, 1, 1.0 / (double)ratio, "", "steps of the code in a step of the display"), design.MeasurandUnit, "steps of the display");
            }
        }

        public void Output()
        {
            if (_law.OutputConverter is not { } dac || _law.LoopScale is not { } scale || _law.Instrument.Loop is not { } loop)
            {
                return;
            }

            string place = loop.Signal.Place;
            Node y = design.Measurand;
            double full = Math.ScaleB(1, dac.Bits) - 1;
            double CodeAt(double measurand) => _law.OutputCodeOf(scale.Forward(measurand));
            int steps = OutputStepsPerCode(_law);
            double step = 1.0 / steps;
            double StepsAt(double code) => steps == 1 ? _law.NearestOutputCode(code) : Math.Round(code * steps);
            string remark = steps == 1 ? "the output converter's code" : FormattableString.Invariant($"the output converter's code, in {steps} steps each");
            bool rises = scale.To[0] < scale.To[^1];
            double one = loop.Under is { } under ? scale.Inverse(under.Value) : rises ? scale.FirstFrom : scale.LastFrom;
            double two = loop.Over is { } over ? scale.Inverse(over.Value) : rises ? scale.LastFrom : scale.FirstFrom;
            double low = Math.Min(one, two);
            double high = Math.Max(one, two);
            double middle = Math.Round((low + high) / 2 / y.Step) * y.Step;
            double slope = (CodeAt(high) - CodeAt(low)) / (high - low);
            if (!double.IsFinite(slope) || slope == 0)
            {
                return;
            }

            bool isStraight = Enumerable.Range(1, 15).Select(i => low + ((high - low) * i / 16)).All(m => Math.Abs(CodeAt(m) - (CodeAt(low) + (slope * (m - low)))) <= 1e-9 * Math.Abs(slope * (high - low)));
            Node held = program.Clamp("within_limits", y, Down(low, y.Step), Up(high, y.Step), $"the {place}'s limits");
            Node code;
            if (isStraight)
            {
                Node about = program.Subtract("about_middle", held, program.Constant("middle", middle, y.Step, y.Unit, $"the middle of the {place}'s scale"), "from the middle of the scale");
                code = Straight("output", about, slope, CodeAt(middle), step, "", remark);
            }
            else
            {
                code = Curve("output", held, CodeAt, step, "", 0.02, remark);
            }

            // With a trim behind it the half code comes there.
            design.OutputError = code.Error - (Math.Abs(slope) * y.Error) - (steps == 1 ? 0.5 : 0);
            double ends = StepsAt(CodeAt(low));
            double other = StepsAt(CodeAt(high));
            code = program.Clamp("output_held", code, (Int128)Math.Max(0, Math.Min(ends, other)), (Int128)Math.Min(full * steps, Math.Max(ends, other)), $"the codes of the {place}'s limits");
            if (_law.Arithmetic.Plausible is { } plausible && loop.Failure is { } failure && double.IsFinite(_law.OutputCodeOf(failure.Value)))
            {
                code = program.Select(
                    "output_code", code, y, Up(plausible.Low, y.Step), Down(plausible.High, y.Step), (Int128)StepsAt(_law.OutputCodeOf(failure.Value)), $"or that of the failure {loop.Signal.Noun}");
            }

            design.OutputCode = code;
        }

        private static Int128 Down(double value, double step) => (Int128)Math.Floor((value / step) + 1e-9);

        private static Int128 Up(double value, double step) => (Int128)Math.Ceiling((value / step) - 1e-9);
    }
}
