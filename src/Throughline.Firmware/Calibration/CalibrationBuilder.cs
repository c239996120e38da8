using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Builds the program of a calibration: what does not depend on the places of the ratio once, the rest for every number of places, of which the one with the least rounding stays.</summary>
internal sealed class CalibrationBuilder
{
    private const int MostPlaces = 30;
    private const int LeastPlaces = 6;
    private const int RoughPlaces = 13;
    private const int RoughPlacesOfLongProducts = 24;

    // Of the least distance that is stated: what differing temperatures of two standards may take from it before the calibration is refused.
    private const double Held = 0.9;

    // How far what is divided may go beyond what an accepted slope makes of it, so that a slope that is held there is refused for certain; with more standards each may lie beside the line besides.
    private const double Beyond = 1.25;
    private const double Scatter = 2;

    private readonly ArithmeticDesign _arithmetic;
    private readonly ChainLaw _law;
    private readonly Calibration _calibration;
    private readonly CalibrationDesign _design;
    private readonly IntegerProgram _front;
    private readonly List<Node> _entered = [];
    private readonly List<Node> _temperatures = [];
    private readonly List<Node> _taken = [];
    private readonly List<Node> _values = [];
    private readonly List<Node> _targets = [];
    private IntegerProgram _program;
    private Node? _divisor;
    private Node? _over;
    private Node? _roughOver;
    private LeastSquaresRounding? _rounding;

    private CalibrationBuilder(CalibrationDesign design)
    {
        _design = design;
        _arithmetic = design.Arithmetic;
        _law = _arithmetic.Law;
        _calibration = _law.Instrument.Calibration!;
        ArithmeticChoices choices = _law.Arithmetic.Choices;

        // Wider products that are asked for are wider sums too: what is added up is products.
        int? product = _calibration.ProductBits?.Value ?? choices.ProductBits?.Value;
        _front = new IntegerProgram(Math.Max(_law.Arithmetic.WordBits, _calibration.ProductBits?.Value ?? 0), null, product, choices.Truncates?.Value ?? false);
        _program = _front;
    }

    private bool IsSignal => _arithmetic.CalibratesSignal;

    private int Points => _law.CalibrationPoints;

    private double Nominal => IsSignal ? _law.Instrument.Sensor.NominalSlope : 1;

    private double Step => _arithmetic.Uncalibrated.Step;

    private string Unit => _law.Instrument.Specification.Unit;

    /// <summary>Where the zero is counted, in the measurand's unit; for an electrode its own zero.</summary>
    private double ZeroAt => IsSignal ? 0 : Math.Clamp(0, _law.Instrument.Specification.Range.Low, _law.Instrument.Specification.Range.High);

    public static CalibrationDesign Build(ArithmeticDesign arithmetic)
    {
        CalibrationDesign frame = new(arithmetic) { Points = arithmetic.Law.CalibrationPoints };
        CalibrationBuilder builder = new(frame);
        builder.Common();
        if (frame.Trouble is not null)
        {
            return frame;
        }

        builder.Front();
        IEnumerable<int> places = frame.Points == 1 ? [0]
            : builder._calibration.RatioPlaces is { } fixedOnes ? [fixedOnes.Value]
            : Enumerable.Range(LeastPlaces, Math.Min(MostPlaces, builder._front.ProductBits - 2) - LeastPlaces + 1);
        int best = 0;
        double bestScore = double.PositiveInfinity;
        foreach (int k in places)
        {
            builder.Back(k);
            double score = builder.Score();
            if (score < bestScore)
            {
                (best, bestScore) = (k, score);
            }
        }

        builder.Back(best);
        return frame;
    }

    private void Common()
    {
        Instrument instrument = _law.Instrument;
        if (Points > 1 && !_law.LimitsSlope)
        {
            _design.Trouble = "No accepted slope is stated by which the code could refuse a dead sensor before it divides.";
            return;
        }

        bool follows = _calibration.FollowsTemperature && _calibration.Standards.Any(s => s.Table is not null || s.Buffer is not null);
        if (follows && _arithmetic.Form.Terminals is not null)
        {
            _design.Trouble = "The temperature that is measured is that of the terminals, and the standards follow another.";
            return;
        }

        double step = _arithmetic.Measurand.Step;
        _design.EntriesCountAtOnce = _calibration.EntriesCountAtOnce?.Value ?? false;
        _design.Apart = _calibration.Apart is { } apart ? (long)Math.Ceiling((apart.Value / step) - 1e-6) : 0;
        _design.Standards = [.. Enumerable.Range(0, Points).Select(i =>
        {
            double stated = _calibration.Standards[i].Value.Quantity.Value;
            PanelEntryRange? range = PanelValues.EntryOf(instrument, PanelSource.FirstStandard + i);
            return new CalibrationStandardRange(Steps(range?.Low ?? stated), Steps(range?.High ?? stated), Steps(range?.Start ?? stated));
        })];
        _design.SteadyMilliseconds = _calibration.SteadyFor is { } time ? (long)Math.Round(time.Value * 1000) : 0;
        _design.SteadyWithin = _calibration.SteadyWithin is { } within ? Within(within) : 0;
        _design.Nearest = Nearest();
        _design.MeasurandPerUncalibrated = IsSignal ? 1 / SignalPerMeasurand(instrument.Specification.Range.Middle) : 1;

        long Steps(double value) => (long)Math.Round(value / step, MidpointRounding.AwayFromZero);
    }

    private long Within(Quantity within)
    {
        bool isVolts = within.Dimension == Dimension.Voltage && _law.Instrument.Specification.Dimension != Dimension.Voltage;
        double band = within.Value;
        if (isVolts != IsSignal)
        {
            double perMeasurand = SignalPerMeasurand(IsSignal ? _law.Instrument.Specification.Range.Middle : _calibration.Standards[0].Value.Quantity.Value);
            band = IsSignal ? band * perMeasurand : band / perMeasurand;
        }

        return (long)Math.Floor((band / Step) + 1e-9);
    }

    private double SignalPerMeasurand(double at)
    {
        double beside = 1e-4 * _law.Instrument.Specification.Range.Width;
        double Signal(double m) => _law.Instrument.Sensor.NominalSignal(m, UnitState.ReferenceCelsius);
        return Math.Abs(Signal(at + beside) - Signal(at - beside)) / (2 * beside);
    }

    /// <summary>The least distance of any two standards that may be entered.</summary>
    private (double Distance, double Celsius) Nearest()
    {
        (double low, double high) = SensorForm.Temperatures(_law);
        double step = _arithmetic.Measurand.Step;
        (double, double) found = (double.PositiveInfinity, low);
        for (int k = 0; k <= 32; k++)
        {
            double celsius = low + ((high - low) * k / 32);
            for (int i = 0; i < Points; i++)
            {
                for (int j = 0; j < i; j++)
                {
                    double one = Moved(i, celsius);
                    double two = Moved(j, celsius);
                    double distance = Math.Max(
                        (_design.Standards[i].Low * step) + one - ((_design.Standards[j].High * step) + two),
                        (_design.Standards[j].Low * step) + two - ((_design.Standards[i].High * step) + one));
                    if (distance < found.Item1)
                    {
                        found = (Math.Max(0, distance), celsius);
                    }
                }
            }
        }

        return found;
    }

    /// <summary>What temperature does to a standard's value.</summary>
    private double Moved(int standard, double celsius) =>
        _calibration.FollowsTemperature ? _calibration.Standards[standard].At(celsius) - _calibration.Standards[standard].Value.Quantity.Value : 0;

    private void Front()
    {
        double step = _arithmetic.Measurand.Step;
        bool follows = _calibration.FollowsTemperature && _calibration.Standards.Any(s => s.Table is not null || s.Buffer is not null);
        (double cold, double warm) = SensorForm.Temperatures(_law);
        bool needsTemperature = _arithmetic.Form.Shape == SensorShape.InverseToTemperature || (follows && warm > cold);
        ProgramParts parts = new(_front);
        Node u = _arithmetic.Uncalibrated;
        for (int i = 0; i < Points; i++)
        {
            int n = i + 1;
            CalibrationStandardRange range = _design.Standards[i];
            _entered.Add(_front.Input(Name("entered", n), range.Low, range.High, step, Unit, 0, "the standard as entered"));
            if (needsTemperature)
            {
                _temperatures.Add(_front.Input(
                    Name("temperature", n), (Int128)Math.Round(cold / ArithmeticDesign.TemperatureStep), (Int128)Math.Round(warm / ArithmeticDesign.TemperatureStep),
                    ArithmeticDesign.TemperatureStep, "°C", 0, "of the standard"));
            }

            _taken.Add(_front.Input(Name("taken", n), u.Low, u.High, u.Step, u.Unit, 0, "the reading taken in it"));
            Node value = _entered[i];
            int standard = i;
            if (_calibration.FollowsTemperature && _calibration.Standards[i] is { Table: not null } or { Buffer: not null })
            {
                Node moved = needsTemperature && warm > cold
                    ? parts.Curve(Name("moved", n), _temperatures[i], t => Moved(standard, t), step, Unit, step / 2, "what temperature does to the standard")
                    : _front.Constant(Name("moved", n), Moved(i, cold), step, Unit, "what temperature does to the standard");
                value = _front.Add(Name("value", n), value, moved, "the standard at its temperature");
            }

            _values.Add(value);
            _targets.Add(IsSignal ? Target(parts, i, value) : value);
        }

        List<Node> distances = [];
        for (int i = 1; i < Points && _design.Apart > 0; i++)
        {
            for (int j = 0; j < i; j++)
            {
                distances.Add(_front.Subtract(FormattableString.Invariant($"apart_{j + 1}_{i + 1}"), _values[i], _values[j], "how far two standards lie apart"));
            }
        }

        _design.Distances = [.. distances];
        if (Points > 1)
        {
            Spread();
        }

        (_design.Entered, _design.Temperatures, _design.Taken) = ([.. _entered], [.. _temperatures], [.. _taken]);
    }

    /// <summary>What the nominal sensor gives in a standard, from its zero.</summary>
    private Node Target(ProgramParts parts, int standard, Node value)
    {
        SensorForm form = _arithmetic.Form;
        double pivot = _law.Instrument.Sensor.ZeroSignal!.Value;
        string unit = _arithmetic.Uncalibrated.Unit;
        int n = standard + 1;
        const string Remark = "what the nominal sensor gives in it, from its zero";
        if (form.Shape == SensorShape.Straight)
        {
            return parts.Straight(Name("target", n), value, 1 / form.Slope, -(form.FixedMeasurand / form.Slope) - pivot, Step, unit, Remark);
        }

        if (form.Shape != SensorShape.InverseToTemperature)
        {
            double celsius = SensorForm.Temperatures(_law).Low;
            return parts.Curve(Name("target", n), value, m => _law.Instrument.Sensor.NominalSignal(m, celsius) - pivot, Step, unit, Step / 2, Remark);
        }

        // s = s₀ + (m − m₀) T / B
        Node zero = Shared(_front, "zero_point", () => _front.Constant("zero_point", form.FixedMeasurand, value.Step, Unit, "measurand where temperature does nothing"));
        Node about = _front.Subtract(Name("about_zero", n), value, zero, "from there");
        Node atZero = Shared(_front, "kelvin_at_zero", () => _front.Constant("kelvin_at_zero", -SensorForm.AbsoluteZero, ArithmeticDesign.TemperatureStep, "K", "0 °C above the absolute zero"));
        Node kelvin = _front.Add(Name("kelvin", n), _temperatures[standard], atZero, "absolute temperature", "K");
        Node product = Product(Name("times_kelvin", n), about, kelvin, Unit + "·K", "times the absolute temperature");
        double factorStep = product.Step / Step;
        double number = form.Slope / factorStep;
        double most = product.Size / Math.Abs(form.Slope) / Step;
        Node target;
        if (Math.Abs(number) > 0.5 && most * Math.Abs((Math.Round(number) / number) - 1) < 2)
        {
            Node factor = Shared(_front, "slope_factor", () => _front.Constant("slope_factor", form.Slope, factorStep, $"{Unit}·K/{unit}", "slope times temperature"));
            target = _front.Divide(Name("nominal", n), product, factor, unit, Remark);
        }
        else
        {
            target = parts.Straight(Name("nominal", n), product, 1 / form.Slope, 0, Step, unit, Remark);
        }

        double added = form.FixedSignal - pivot;
        return added == 0 ? target : _front.Add(Name("target", n), target, _front.Constant(Name("fixed_point", n), added, Step, unit, "where temperature does nothing"), Remark);
    }

    /// <summary>Numerator and divisor of the ratio, and how far they may go.</summary>
    private void Spread()
    {
        bool byReadings = !IsSignal && Points > 2;
        (double least, double greatest) = _law.AcceptedSlope;
        double window = byReadings
            ? Math.Max(Math.Abs((1 / least) - 1), Math.Abs((1 / greatest) - 1))
            : Math.Max(Math.Abs((least / Nominal) - 1), Math.Abs((greatest / Nominal) - 1));
        double nearest = _design.Apart > 0 ? _design.Apart * _arithmetic.Measurand.Step : _design.Nearest.Distance;
        double distance = Distance(nearest) / Step;
        _design.DividesByReadings = byReadings;
        List<Node> x = byReadings ? _taken : _targets;
        List<Node> other = byReadings ? _targets : _taken;
        Node[] rise = new Node[Points];
        Node[] off = new Node[Points];
        for (int i = 1; i < Points; i++)
        {
            rise[i] = _front.Subtract(Name(byReadings ? "taken_rise" : "rise", i + 1), x[i], x[0], "from the first standard");
            Node otherRise = _front.Subtract(Name(byReadings ? "rise" : "taken_rise", i + 1), other[i], other[0], "from the first standard");
            off[i] = _front.Subtract(Name("off", i + 1), otherRise, rise[i], "by how much that is too large");
        }

        if (Points == 2)
        {
            _design.Spread = rise[1];
            _design.LeastSpread = (Int128)Math.Floor(distance * (IsSignal ? Held : 1));
            _divisor = _design.LeastSpread > 0 ? _front.HoldAway("distance", rise[1], _design.LeastSpread, "what is divided by, never zero") : rise[1];
            Int128 size = Largest(rise[1]);
            _over = _front.Clamp("off_held", off[1], -Bound(size, Beyond), Bound(size, Beyond), "what an accepted slope can make, and a little more");
            _roughOver = _front.Clamp("off_rough", off[1], -size, size, "what half to twice the slope can make");
            return;
        }

        // Least squares: Σ w (y − x) / Σ w x with w = n x − Σ x. Weights may be rounded, as long as the same ones stand above and below: a straight line comes out as it is.
        Node count = _front.Constant("count", Points, 1, "", "the standards");
        Node sum = x[0];
        for (int i = 1; i < Points; i++)
        {
            sum = _front.Add(Name("sum", i + 1), sum, x[i], "added up");
        }

        Node[] weights = new Node[Points];
        int places = 0;
        for (int i = 1; i < Points; i++)
        {
            weights[i] = _front.Subtract(Name("from_mean", i + 1), _front.Multiply(Name("times_count", i + 1), x[i], count, x[i].Unit, "times the standards"), sum, "from the mean, times the standards");
            int most = _front.ProductBits - 3 - Word.BitsFor(rise[i].Low, rise[i].High);
            places = Math.Max(places, Word.BitsFor(weights[i].Low, weights[i].High) - Math.Max(4, most));
        }

        List<(Node, Int128)> scatter = [];
        Node? spread = null;
        Node? over = null;
        Node? rough = null;
        for (int i = 1; i < Points; i++)
        {
            Node weight = _front.Shift(Name("weight", i + 1), weights[i], places, "its weight");
            Int128 size = Largest(rise[i]);
            Int128 bound = Bound(size, Scatter);
            Node held = _front.Clamp(Name("off_held", i + 1), off[i], -bound, bound, "what an accepted slope can make, and scatter about it");
            scatter.Add((off[i], bound));
            Node far = _front.Clamp(Name("off_rough", i + 1), off[i], -size, size, "what half to twice the slope can make");
            spread = Added("spread", spread, weight, rise[i], i);
            over = Added("over", over, weight, held, i);
            rough = Added("rough", rough, weight, far, i);
        }

        _design.Scatter = [.. scatter];
        double shrunk = byReadings ? least : 1;
        _design.Spread = spread;
        _design.LeastSpread = Int128.Max(1, (Int128)(Points * distance * distance * Points * ((Points * Points) - 1) / 12 * shrunk * shrunk / 2 / Math.ScaleB(1, places)));
        _design.IsShortOfBits = places > 0 && _front.ProductBits < 64;
        _rounding = new LeastSquaresRounding(
            Points, (double)_design.LeastSpread, Math.Max(0, places), _front.Half, (double)rise.Skip(1).Max(Largest), (double)scatter.Max(s => s.Item2), window, x.Max(n => n.Error) / Step, other.Max(n => n.Error) / Step);
        _divisor = nearest > 0 ? _front.Clamp("distance", spread!, _design.LeastSpread, spread!.High, "what is divided by, never zero") : spread!;
        (_over, _roughOver) = (over!, rough!);

        Node Added(string name, Node? before, Node weight, Node by, int i)
        {
            Node product = _front.Multiply(Name(name + "_part", i + 1), weight, by, by.Unit, "with its weight");
            return before is null ? product : _front.Add(Name(name, i + 1), before, product, "added up");
        }

        static Int128 Largest(Node n) => Int128.Max(Int128.Abs(n.Low), Int128.Abs(n.High));

        Int128 Bound(Int128 size, double times) => (Int128)Math.Ceiling(times * window * (double)size) + 4;
    }

    /// <summary>A distance of standards as one of what they are divided by: for an electrode at the coldest and where its curve is flattest.</summary>
    private double Distance(double measurand)
    {
        SensorForm form = _arithmetic.Form;
        return !IsSignal ? measurand
            : form.Shape == SensorShape.InverseToTemperature ? measurand * (SensorForm.Temperatures(_law).Low - SensorForm.AbsoluteZero) / Math.Abs(form.Slope)
            : form.Shape == SensorShape.Straight ? measurand / Math.Abs(form.Slope)
            : measurand * SignalPerMeasurand(_law.Instrument.Specification.Range.Middle) / 2;
    }

    private void Back(int places)
    {
        _program = new IntegerProgram(_front);
        ProgramParts parts = new(_program);
        Node? ratio = null;
        Node? rough = null;
        int roughPlaces = 0;
        if (Points > 1)
        {
            (double least, double greatest) = _law.AcceptedSlope;
            (double low, double high) = _design.DividesByReadings ? ((1 / greatest) - 1, (1 / least) - 1) : ((least / Nominal) - 1, (greatest / Nominal) - 1);
            _design.RatioLow = (Int128)Math.Round(Math.ScaleB(low, places));
            _design.RatioHigh = (Int128)Math.Round(Math.ScaleB(high, places));
            Node found = Quotient("ratio", _over!, _divisor!, places);
            ratio = _program.Clamp(
                "ratio", found, _design.RatioLow - 2, _design.RatioHigh + 2, "by which the slope differs, held just beyond what is accepted", RatioError(found));
            roughPlaces = Math.Min(_program.ProductBits > 32 ? RoughPlacesOfLongProducts : RoughPlaces, _program.ProductBits - 4);
            rough = Quotient("rough", _roughOver!, _divisor!, roughPlaces);
            Int128 one = Int128.One << roughPlaces;
            rough = _program.Clamp("rough_ratio", rough, _design.DividesByReadings ? -one / 2 : -one, one, "the same, less fine but farther");
        }

        _design.Ratio = ratio;
        Node? gain = ratio is null || _arithmetic.Gain is not { } kept ? null : Gain(ratio, places, kept);
        Zeros(parts, ratio, places, rough, roughPlaces, gain);
        _design.KeptGain = gain is null ? null : _program.Clamp("gain", gain, _arithmetic.Gain!.Low, _arithmetic.Gain.High, "the gain to be kept");
        Slope(parts, rough, roughPlaces);
        _design.Program = _program;
        _design.Bound = ReadingBound();
    }

    /// <summary>Of three and more standards: what is known of the ratio's error beside the intervals.</summary>
    private double? RatioError(Node found)
    {
        if (_rounding is not { } rounding)
        {
            return null;
        }

        // The divisor has lost places so that the numerator could be given some, and the ratio itself has so many.
        Node divisor = _program.Nodes[found.Arguments[1]];
        double lost = divisor.Step == _divisor!.Step ? 0 : rounding.Rounded * divisor.Step / _divisor.Step / rounding.LeastSpread;
        return rounding.Bound + (rounding.Window * lost / (1 - lost)) + (rounding.Rounded * found.Step);
    }

    /// <summary>over / under with so many binary places. As many of them as fit are given to the numerator, the rest is taken from the divisor.</summary>
    private Node Quotient(string name, Node over, Node under, int places)
    {
        int taken = 0;
        while (taken < places && Word.BitsFor(over.Low, over.High) + places - taken > _program.ProductBits - (over.Low < 0 ? 0 : 1) && Word.BitsFor(under.Low, under.High) - taken > 6)
        {
            taken++;
        }

        int given = _calibration.RatioPlaces is null || over == _roughOver ? places - taken : places;
        taken = places - given;
        Node scaled = given == 0 ? over
            : _program.Multiply(name + "_scaled", over, _program.Constant(name + "_unit", Int128.One << given, 1, Math.ScaleB(1, -given), "", "binary places"), over.Unit, "with binary places");
        Node divisor = _program.Shift(name + "_reduced", under, taken, "fewer places, so that the product fits");
        if (under.LeastSize > 0)
        {
            divisor = _program.HoldAway(name + "_divisor", divisor, Int128.Max(1, under.LeastSize >> taken), "never zero");
        }

        return _program.Divide(name + "_found", scaled, divisor, "", "by which the slope differs");
    }

    private Node Gain(Node ratio, int places, Node kept)
    {
        Int128 units = (Int128)Math.Round(1 / kept.Step);
        if (_design.DividesByReadings)
        {
            Node more = _program.Multiply("gain_scaled", ratio, _program.Constant("gain_unit", units, 1, kept.Step, "", "steps of the gain in one"), "", "in steps of the gain");
            return _program.Shift("gain_found", more, places, "what the gain has above one");
        }

        Node less = _program.Multiply("gain_scaled", ratio, _program.Constant("gain_unit", -units, -1, kept.Step, "", "steps of the gain in one, the sign turned"), "", "in steps of the gain");
        return _program.Divide("gain_found", less, One("slope_ratio", ratio, places), "", "what the inverse of the slope has above one");
    }

    private Node One(string name, Node ratio, int places) => Shared(
        _program, name,
        () => _program.Add(name, _program.Constant(name == "slope_ratio" ? "one" : name + "_one", Int128.One << places, 1, Math.ScaleB(1, -places), "", "one"), ratio, "slope over the nominal one"));

    private void Zeros(ProgramParts parts, Node? ratio, int places, Node? rough, int roughPlaces, Node? gain)
    {
        Node zero;
        Node roughZero;
        Node kept;
        if (Points > 2)
        {
            (zero, roughZero, kept) = ZerosOfMany(ratio!, places, rough!, roughPlaces);
        }
        else
        {
            // Any of the standards lies on the line; the one nearest to the zero leaves the least to the ratio.
            int near = Enumerable.Range(0, Points).MinBy(i => Math.Max(Math.Abs(_targets[i].Least - ZeroAt), Math.Abs(_targets[i].Greatest - ZeroAt)));
            Node target = _targets[near];
            Node shift = _program.Subtract("shift", _taken[near], target, "how far the reading is off");
            Node about = ZeroAt == 0 ? target : _program.Subtract("about", target, _program.Constant("zero_at", ZeroAt, target.Step, target.Unit, "where the zero is counted"), "from where the zero is counted");
            zero = ratio is null ? shift : _program.Subtract("zero_found", shift, Part("zero_part", about, ratio, places), "the sensor's zero");
            roughZero = rough is null ? shift : _program.Subtract("rough_zero", shift, Part("rough_part", about, rough, roughPlaces), "the same, less fine");
            kept = zero;
            if (!IsSignal)
            {
                int nearReading = Enumerable.Range(0, Points).MinBy(i => Math.Max(Math.Abs(_targets[i].Low < 0 ? (double)-_targets[i].Low : 0), (double)_targets[i].High));
                kept = _program.Subtract("offset", _targets[nearReading], _taken[nearReading], "what has to be added");
                if (gain is not null)
                {
                    Node held = _program.Clamp("gain_held", gain, _arithmetic.Gain!.Low, _arithmetic.Gain.High, "as it will be kept");
                    Node product = _program.Multiply("offset_product", _taken[nearReading], held, _taken[nearReading].Unit, "times what the gain has above one");
                    double units = Math.Round(1 / held.Step);
                    Node part = Math.ScaleB(1, (int)Math.Log2(units)) == units
                        ? _program.Shift("offset_part", product, (int)Math.Log2(units), "what the gain adds there")
                        : _program.Divide("offset_part", product, _program.Constant("gain_steps", (Int128)units, 1, held.Step, "", "steps of the gain in one"), product.Unit, "what the gain adds there");
                    kept = _program.Subtract("offset_found", kept, part, "the rest has to be added");
                }
            }
        }

        _design.Zero = zero;
        _design.RoughZero = roughZero;
        _design.KeptZero = _program.Clamp("zero", kept, _arithmetic.Zero!.Low, _arithmetic.Zero.High, "the zero to be kept");
        double[] ends = [Limit(-_law.AcceptedZero), Limit(_law.AcceptedZero)];
        _design.ZeroLow = (Int128)Math.Round(ends.Min() / Step);
        _design.ZeroHigh = (Int128)Math.Round(ends.Max() / Step);
        bool isVolts = _law.ZeroUnit == "V" && _law.Instrument.Specification.Unit != "V";
        if (isVolts == IsSignal)
        {
            _design.ShownZero = roughZero;
            return;
        }

        double perMeasurand = SignalPerMeasurand(IsSignal ? _law.Instrument.Specification.Range.Middle : ZeroAt);
        double factor = IsSignal ? Math.Sign(_arithmetic.Form.Slope) / perMeasurand : perMeasurand;
        double step = IsSignal ? _arithmetic.Measurand.Step : Math.Pow(10, Math.Floor(Math.Log10(factor * Step)));
        _design.ShownZero = parts.Straight("shown_zero", roughZero, factor, 0, step, _law.ZeroUnit, "the zero to be shown");

        // An electrode's zero is an offset of its signal; any other sensor's is what the instrument without calibration shows too much.
        double Limit(double zero) => IsSignal ? _law.LineOf(zero, Nominal).Offset : -_law.LineOf(zero, 1).Offset;
    }

    private (Node Zero, Node Rough, Node Kept) ZerosOfMany(Node ratio, int places, Node rough, int roughPlaces)
    {
        Node count = _program.Nodes.First(n => n.Name == "count");
        Node shift = null!;
        Node sum = null!;
        for (int i = 0; i < Points; i++)
        {
            Node one = _design.DividesByReadings ? _program.Subtract(Name("shift", i + 1), _targets[i], _taken[i], "what has to be added") : _program.Subtract(Name("shift", i + 1), _taken[i], _targets[i], "how far the reading is off");
            Node x = _design.DividesByReadings ? _taken[i] : _targets[i];
            shift = i == 0 ? one : _program.Add(Name("shifts", i + 1), shift, one, "added up");
            sum = i == 0 ? x : _program.Add(Name("total", i + 1), sum, x, "added up");
        }

        Node fine = Mean("mean_zero", ratio, places);
        Node coarse = Mean(_design.DividesByReadings ? "rough_mean" : "rough_zero", rough, roughPlaces);
        return _design.DividesByReadings ? (OfReadings("", fine, ratio, places), OfReadings("rough_", coarse, rough, roughPlaces), fine) : (fine, coarse, fine);

        // y = z + (1 + ρ) x; the zero in the trade's terms is what x has too much where y is counted as zero: −(z + a ρ) / (1 + ρ).
        Node OfReadings(string which, Node mean, Node by, int p)
        {
            Node at = mean;
            if (ZeroAt != 0)
            {
                Node zeroAt = Shared(_program, "zero_at", () => _program.Constant("zero_at", ZeroAt, mean.Step, mean.Unit, "where the zero is counted"));
                at = _program.Add(which + "at_zero", mean, Part(which + "at_zero_part", zeroAt, by, p), "what the calibration adds there");
            }

            int inversePlaces = Math.Max(2, Math.Min(p, _program.ProductBits - 1 - Word.BitsFor(by.Low, by.High)));
            Node unit = _program.Constant(which + "inverse_unit", -(Int128.One << inversePlaces), -1, Math.ScaleB(1, -inversePlaces), "", "binary places, the sign turned");
            Node inverse = _program.Divide(
                which + "inverse", _program.Multiply(which + "inverse_scaled", by, unit, "", "with binary places"), One(which + "slope_ratio", by, p), "", "what the slope has above one");
            Node nothing = Shared(_program, "nothing", () => _program.Constant("nothing", 0, 0, at.Step, at.Unit, "zero"));
            return _program.Subtract(which + "zero_found", _program.Subtract(which + "turned", nothing, at, "the sign turned"), Part(which + "zero_part", at, inverse, inversePlaces), "the sensor's zero");
        }

        Node Mean(string name, Node by, int p) =>
            _program.Divide(name, _program.Subtract(name + "_sum", shift, Part(name + "_part", sum, by, p), "without what the slope makes"), count, shift.Unit, "mean over the standards");
    }

    private void Slope(ProgramParts parts, Node? rough, int roughPlaces)
    {
        Node slope;
        if (rough is null)
        {
            slope = _program.Constant("slope", Nominal, CalibrationDesign.SlopeStep, "", "the nominal slope, which one standard leaves");
        }
        else if (_design.DividesByReadings)
        {
            Node one = _program.Constant("rough_one", Int128.One << roughPlaces, 1, Math.ScaleB(1, -roughPlaces), "", "one");
            Node unit = _program.Constant("rough_thousand", 1000 * (Int128.One << roughPlaces), 1, Math.ScaleB(1, -roughPlaces) * CalibrationDesign.SlopeStep, "", "one in steps of the slope");
            slope = _program.Divide("slope", unit, _program.Add("rough_gain", one, rough, "gain"), "", "the slope to be shown");
        }
        else
        {
            slope = parts.Straight("slope_line", rough, Nominal, Nominal, CalibrationDesign.SlopeStep, "", "the slope to be shown");
        }

        _design.ShownSlope = _program.Clamp("shown_slope", slope, 0, 2000, "the slope to be shown");
    }

    /// <summary>a × ratio without the ratio's places.</summary>
    private Node Part(string name, Node a, Node ratio, int places)
    {
        Node product = Product(name + "_product", a, ratio, a.Unit, "times the ratio");
        int left = (int)Math.Round(Math.Log2(a.Step / product.Step));
        return left <= 0 ? product : _program.Shift(name, product, Math.Min(left, places), "what the slope makes of it");
    }

    /// <summary>A product, its longer factor reduced until it fits.</summary>
    private Node Product(string name, Node a, Node b, string unit, string remark)
    {
        int most = _program.ProductBits;
        int reduced = 0;
        bool isFirst = Word.BitsFor(a.Low, a.High) >= Word.BitsFor(b.Low, b.High);
        Node longer = isFirst ? a : b;
        Node shorter = isFirst ? b : a;
        while (reduced < 62 && !Fits(reduced))
        {
            reduced++;
        }

        Node less = _program.Shift(name + "_reduced", longer, reduced, "fewer places, so that the product fits");
        return _program.Multiply(name, isFirst ? less : shorter, isFirst ? shorter : less, unit, remark);

        bool Fits(int shift)
        {
            Int128 l = Rounding.Shift(longer.Low, shift, false);
            Int128 h = Rounding.Shift(longer.High, shift, false);
            Int128[] ends = [l * shorter.Low, l * shorter.High, h * shorter.Low, h * shorter.High];
            return Word.BitsFor(ends.Min(), ends.Max()) <= most;
        }
    }

    private double Score()
    {
        double score = _design.Bound / _design.Allowed;
        foreach (Node node in _program.Nodes)
        {
            score += node.Fits ? 0 : 1e6 * (1 + node.BitsNeeded - node.Word.Bits);
        }

        return double.IsNaN(score) ? 1e12 : score;
    }

    /// <summary>What the rounding of both kept numbers can do to a reading.</summary>
    private double ReadingBound()
    {
        double zero = _design.KeptZero.Error;
        double gain = _design.KeptGain?.Error ?? 0;
        (double low, double high) = _arithmetic.Region;
        (CalibrationLine least, CalibrationLine greatest) = (_law.LeastLine, _law.GreatestLine);
        if (!IsSignal)
        {
            double offset = Math.Max(Math.Abs(least.Offset), Math.Abs(greatest.Offset));
            return zero + (gain * (Math.Max(Math.Abs(low), Math.Abs(high)) + offset) / least.Gain);
        }

        (double cold, double warm) = SensorForm.Temperatures(_law);
        Sensor sensor = _law.Instrument.Sensor;
        double most = new[] { low, high }.SelectMany(m => new[] { cold, warm }.Select(t => Math.Abs(sensor.NominalSignal(m, t) - sensor.ZeroSignal!.Value))).Max();
        double perSignal = _arithmetic.Form.Shape switch
        {
            SensorShape.InverseToTemperature => Math.Abs(_arithmetic.Form.Slope) / (cold - SensorForm.AbsoluteZero),
            SensorShape.Straight => Math.Abs(_arithmetic.Form.Slope),
            _ => 1 / Enumerable.Range(0, 33).Min(i => SignalPerMeasurand(low + ((high - low) * i / 32))),
        };
        return perSignal * ((zero / least.Gain) + (gain * most * greatest.Gain));
    }

    private static Node Shared(IntegerProgram program, string name, Func<Node> make) => program.Nodes.FirstOrDefault(n => n.Name == name) ?? make();

    private static string Name(string what, int number) => FormattableString.Invariant($"{what}_{number}");
}
