using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// The linear error budget. Every contribution is carried to the output by exact gradients: through the circuit by adjoint solves, through the trimmers that
/// follow it by the adjustment's Jacobian, through the calibration because the indicated value is a function of the signal read and of those read in the
/// standards. What adjustment and calibration take away is not said anywhere; it cancels.
/// </summary>
internal sealed class BudgetBuilder
{
    /// <summary>Noise is counted up to so many standard deviations in a straight sum; common practice, no source.</summary>
    private const double NoiseLimit = 3;

    private const double Probability = 0.95;

    private readonly CheckContext _context;
    private readonly Evaluator _evaluator;
    private readonly Extremes _extremes;
    private readonly ImmutableArray<Contribution> _contributions;
    private readonly ExactChain _exact;
    private readonly ChainDifferentiator _differentiator;
    private readonly TrimGradient? _trim;
    private readonly bool _isTrimmed;
    private readonly int[] _readDirectly;
    private readonly int _inputError;
    private readonly int _outputError;
    private readonly bool _hasDisplay;
    private readonly bool _hasLoop;
    private readonly Lazy<Standard[]?> _standards;
    private readonly Lazy<double> _noise;
    private readonly Lazy<(ImmutableArray<double> Low, ImmutableArray<double> High)> _standardsAtEnds;

    /// <param name="isTrimmed">Whether the trim of the output is performed; without it every budget is of an instrument that has none.</param>
    public BudgetBuilder(CheckContext context, bool isTrimmed = true)
    {
        _context = context;
        _isTrimmed = isTrimmed;
        _evaluator = context.Evaluator;
        _extremes = context.Extremes;
        Model model = context.Model;
        _contributions = Contributions.Of(model);
        _exact = new ExactChain(_evaluator);
        _differentiator = new ChainDifferentiator(_evaluator, _extremes);
        _trim = isTrimmed ? TrimGradient.Of(_evaluator, _differentiator) : null;
        _inputError = model.Converter?.Nonlinearity is { } input ? model.Parameters.IndexOf(input) : -1;
        _outputError = model.OutputConverter?.Nonlinearity is { } output ? model.Parameters.IndexOf(output) : -1;
        _hasDisplay = _evaluator.ConverterProbe(model.Field) is not null;
        _hasLoop = context.Instrument.Loop is not null && _evaluator.LoopScale is not null
            && (model.OutputConverter is null || !double.IsNaN(_evaluator.OutputCodeOf(_evaluator.LoopScale.To[0])));
        Sensor sensor = context.Instrument.Sensor;
        UnitState sample = _evaluator.NewState();
        double signal = sensor.Signal(sample);
        (_readDirectly, _) = sample.Reads(s => sensor.Reading(signal, _evaluator.AssumedProcess(sample), s));
        _standards = new Lazy<Standard[]?>(DifferentiateStandards);
        _noise = new Lazy<double>(NoiseOfSignal);
        _standardsAtEnds = new Lazy<(ImmutableArray<double> Low, ImmutableArray<double> High)>(ReadStandardsAtEnds);
    }

    /// <summary>The moments that the instrument has.</summary>
    public ImmutableArray<BudgetMoment> Moments =>
    [
        BudgetMoment.AsBuilt,
        .. _context.Instrument.Adjustment.IsEmpty && (_evaluator.TrimPlan is null || !_isTrimmed) ? Array.Empty<BudgetMoment>() : [BudgetMoment.AfterAdjustment],
        .. IsCalibrated ? [BudgetMoment.AfterCalibration] : Array.Empty<BudgetMoment>(),
        BudgetMoment.Rated,
    ];

    /// <summary>Budgets at every moment.</summary>
    public ErrorBudgetReport Build(IReadOnlyList<double>? measurands)
    {
        ImmutableArray<double> points = measurands is null ? ReadingsBuilder.DefaultPoints(_context.Specification) : [.. measurands];
        List<BudgetTable> tables = [];
        foreach (double x in points)
        {
            foreach (BudgetMoment moment in Moments)
            {
                tables.AddRange(At(x, moment, withFull: true));
            }
        }

        return new ErrorBudgetReport(points, Moments, [.. tables.OrderBy(t => t.Output)]) { Trim = _context.TrimEffect };
    }

    /// <summary>Budgets of the last moment alone, at the ends and quarters of the range.</summary>
    public ImmutableArray<BudgetTable> Rated() =>
        [.. ReadingsBuilder.DefaultPoints(_context.Specification).SelectMany(x => At(x, BudgetMoment.Rated, withFull: false))];

    /// <summary>The budgets of display and loop at one point and moment; none without an operating point.</summary>
    /// <param name="withFull">Also solve the two worst units in full.</param>
    public IEnumerable<BudgetTable> At(double measurand, BudgetMoment moment, bool withFull)
    {
        if (Weigh(measurand, moment) is not { } weighed)
        {
            yield break;
        }

        if (_hasDisplay)
        {
            yield return Table(weighed, BudgetOutput.Display, withFull);
        }

        if (_hasLoop)
        {
            yield return Table(weighed, BudgetOutput.Loop, withFull);
        }
    }

    /// <summary>The budget of the loop alone; null without a loop or an operating point.</summary>
    public BudgetTable? LoopAt(double measurand, BudgetMoment moment) =>
        _hasLoop && Weigh(measurand, moment) is { } weighed ? Table(weighed, BudgetOutput.Loop, withFull: false) : null;

    /// <summary>A standard as this instrument reads it.</summary>
    /// <param name="Parameter">Number of its value among the parameters.</param>
    private sealed record Standard(ChainGradient Gradient, int Parameter);

    /// <summary>A set of conditions and how all outputs move there, per unit of each contribution.</summary>
    /// <param name="PerIndicated">Change of the loop's current per change of the indicated value.</param>
    private sealed record Node(double Ambient, double Process, double Age, ChainGradient Gradient, Partials Partials, double PerIndicated)
    {
        public double[] Display { get; init; } = [];

        public double[] Loop { get; init; } = [];

        /// <summary>Bow and S of the converters' nonlinearity at display and loop, per code.</summary>
        public (double Bow, double S) DisplayInputError { get; init; }

        public (double Bow, double S) LoopOutputError { get; init; }
    }

    /// <summary>How the indicated value moves with the signal read and with those read in the standards.</summary>
    private sealed record Partials(double Signal, double[] Standards);

    private sealed record Weighed(double Measurand, BudgetMoment Moment, UnitState Unit, ImmutableArray<double> InStandards, Node Reference, Node[] Corners, Node[] Means)
    {
        public bool IsCalibrated => !InStandards.IsEmpty;

        public Dictionary<Contribution, Shift> Shifts { get; init; } = [];
    }

    private bool IsCalibrated => _hasDisplay && _exact.Points > 0;

    private Weighed? Weigh(double x, BudgetMoment moment)
    {
        bool follow = moment != BudgetMoment.AsBuilt;
        bool calibrated = moment >= BudgetMoment.AfterCalibration && IsCalibrated;
        if ((!_hasDisplay && !_hasLoop) || (calibrated && _standards.Value is null))
        {
            return null;
        }

        UnitState unit = _evaluator.NewState();
        if (!follow)
        {
            _context.Model.CreateState().Positions.CopyTo(unit.Positions, 0);
        }

        if (!follow || !_isTrimmed)
        {
            unit.OutputTrim = OutputTrim.Neutral;
        }

        ImmutableArray<double> inStandards = calibrated ? [.. _standards.Value!.Select(s => s.Gradient.Signal)] : [];
        Node? reference = MakeNode(x, unit, unit.AmbientCelsius, unit.ProcessCelsius, 0, follow, inStandards);
        if (reference is null)
        {
            return null;
        }

        Dictionary<Contribution, Shift> shifts = [];
        if (calibrated)
        {
            AddStandardTemperature(shifts, reference, inStandards, unit, x);
        }

        if (moment != BudgetMoment.Rated)
        {
            return new Weighed(x, moment, unit, inStandards, reference, [reference], [reference]) { Shifts = shifts };
        }

        AddConditions(shifts, x, unit, inStandards);

        double age = Find(UnitState.Of.Age) is { } a ? a.Limit : 0;
        double meanAge = Find(UnitState.Of.Age) is { Distribution: var d } ? Math.Sqrt((d.Mean * d.Mean) + (d.StandardUncertainty * d.StandardUncertainty)) : 0;
        (double[] ambients, double[] meanAmbients) = Ends(UnitState.Of.Ambient, unit.AmbientCelsius);
        (double[] processes, double[] meanProcesses) = Ends(UnitState.Of.Process, unit.ProcessCelsius);
        Node?[] corners = [.. from t in ambients from p in processes select MakeNode(x, unit, t, p, age, follow, inStandards)];
        Node?[] means = [.. from t in meanAmbients from p in meanProcesses select MakeNode(x, unit, t, p, meanAge, follow, inStandards)];
        return corners.Concat(means).Any(n => n is null) ? null : new Weighed(x, moment, unit, inStandards, reference, corners!, means!)
        {
            Shifts = shifts,
        };
    }

    private Contribution? Find(UnitState.Of condition) =>
        _contributions.FirstOrDefault(c => c.Target == ContributionTarget.Condition && c.Index == (int)condition);

    /// <summary>The ends of a condition, and the two values that have the mean and the variance of its distribution: what is linear in the condition then has the right square.</summary>
    private (double[] Ends, double[] Means) Ends(UnitState.Of condition, double reference)
    {
        if (Find(condition) is not { } c)
        {
            return ([reference], [reference]);
        }

        QuantityRange range = condition == UnitState.Of.Ambient ? _context.Specification.Ambient : _context.Specification.Process;
        double u = c.Distribution.StandardUncertainty;
        return ([range.Low, range.High], [c.Distribution.Mean - u, c.Distribution.Mean + u]);
    }

    private Standard[]? DifferentiateStandards()
    {
        List<Standard> all = [];
        for (int i = 0; i < _exact.Points; i++)
        {
            UnitState state = _exact.InStandard(_evaluator.Nominal, i, _exact.StandardCelsius);
            if (_differentiator.At(state, follow: true, withMeasurand: true, withLoop: false) is not { } gradient)
            {
                return null;
            }

            all.Add(new Standard(gradient, _context.Model.Parameters.IndexOf(_evaluator.Calibrator.Standards[i].Value)));
        }

        return [.. all];
    }

    /// <summary>Noise at the display referred back to the signal, root mean square; the rounding to whole codes is a line of its own.</summary>
    private double NoiseOfSignal()
    {
        // How much of the noise a reading holds is known where the file says how the converter is timed.
        if (_context.Model.Converter is not { Every: not null } || _context.Response is not { } response || response.Noise.IsEmpty)
        {
            return 0;
        }

        double square = response.Noise.Where(n => n.Part != ResponseBuilder.Quantisation).Sum(n => n.Rms * n.Rms);
        UnitState state = _evaluator.NewState();
        state.Measurand = _context.Specification.Range.Middle;
        double slope = Slope(s => _exact.Indicated(s, [], _exact.StandardCelsius, state), _context.Instrument.Sensor.Signal(state));
        return Math.Sqrt(square) / Math.Abs(slope);
    }

    private Node? MakeNode(double x, UnitState unit, double ambient, double process, double age, bool follow, ImmutableArray<double> inStandards)
    {
        UnitState state = unit.Copy();
        state.Measurand = x;
        (state.AmbientCelsius, state.ProcessCelsius, state.AgeSeconds) = (ambient, process, age);
        bool isDriven = _hasLoop && _context.Model.OutputConverter is not null;
        state.DriveVolts = isDriven ? _exact.DriveOf(x, state) : state.DriveVolts;
        Func<double, double>? driveOf = isDriven ? s => _exact.DriveOf(!_hasDisplay ? x : _exact.Indicated(s, inStandards.AsSpan(), _exact.StandardCelsius, state), state) : null;
        if (_differentiator.At(state, follow, withLoop: _hasLoop, driveOf: driveOf) is not { } gradient)
        {
            return null;
        }

        if (follow && _trim is not null)
        {
            gradient = _trim.Apply(gradient, state);
        }

        if (gradient.OfSignal is null)
        {
            return new Node(ambient, process, age, gradient, new Partials(0, []), 0) { Loop = Coefficients(gradient.OfLoop!, null, 0), LoopOutputError = Shares(gradient.OutputErrors) };
        }

        Partials partials = Differentiate(gradient.Signal, inStandards, state);
        double[] display = Display(gradient, partials, inStandards, state);
        double perIndicated = 0;
        (double Bow, double S) displayError = InputError(gradient, partials);
        if (isDriven)
        {
            perIndicated = gradient.LoopPerVolt * Slope(v => _exact.DriveOf(v, state), x, _context.Specification.Range.Width * 1e-3);
        }

        return new Node(ambient, process, age, gradient, partials, perIndicated)
        {
            Display = display,
            Loop = _hasLoop ? Coefficients(gradient.OfLoop!, display, perIndicated) : [],
            DisplayInputError = displayError,
            LoopOutputError = Shares(gradient.OutputErrors),
        };
    }

    /// <summary>How the indicated value moves with each signal that goes into it.</summary>
    private Partials Differentiate(double signal, ImmutableArray<double> inStandards, UnitState state)
    {
        double[] partials = new double[inStandards.Length];
        double ofSignal = Slope(s => _exact.Indicated(s, inStandards.AsSpan(), _exact.StandardCelsius, state), signal);
        for (int i = 0; i < partials.Length; i++)
        {
            int index = i;
            partials[i] = Slope(s => _exact.Indicated(signal, inStandards.SetItem(index, s).AsSpan(), _exact.StandardCelsius, state), inStandards[i]);
        }

        return new Partials(ofSignal, partials);
    }

    private double SignalStep
    {
        get
        {
            (double low, double high) = _evaluator.SignalRange();
            double width = Math.Abs(high - low);
            return width > 0 && double.IsFinite(width) ? 1e-4 * width : 1e-6;
        }
    }

    private double Slope(Func<double, double> function, double at) => Slope(function, at, SignalStep);

    private static double Slope(Func<double, double> function, double at, double step) => (function(at + step) - function(at - step)) / (2 * step);

    /// <summary>Change of the indicated value per unit of each contribution that moves a parameter.</summary>
    private double[] Display(ChainGradient gradient, Partials partials, ImmutableArray<double> inStandards, UnitState state)
    {
        Gradient sum = new(_context.Model.Parameters.Count, _context.Model.Trimmers.Length);
        Accumulate(sum, gradient.OfSignal!, partials.Signal);
        for (int i = 0; i < partials.Standards.Length; i++)
        {
            Standard standard = _standards.Value![i];
            Accumulate(sum, standard.Gradient.OfSignal!, partials.Standards[i]);
            sum.Values[standard.Parameter] += partials.Standards[i] * standard.Gradient.SignalPerMeasurand;
        }

        foreach (int p in _readDirectly)
        {
            // What the code reads beside the signal, such as the temperature of the process or of its terminals.
            ParameterSet parameters = _context.Model.Parameters;
            double kept = state.Values[p];
            double step = Math.Max((parameters.High(p) - parameters.Low(p)) * 1e-3, 1e-9);
            double direct = Slope(
                v =>
                {
                    state.Values[p] = v;
                    return _exact.Indicated(gradient.Signal, inStandards.AsSpan(), _exact.StandardCelsius, state);
                },
                kept,
                step);
            state.Values[p] = kept;
            sum.Values[p] += direct;
            sum.Drifts[p] += direct * (state.AmbientCelsius - UnitState.ReferenceCelsius);
        }

        return Coefficients(sum, null, 0);
    }

    private static void Accumulate(Gradient sum, Gradient other, double factor)
    {
        for (int i = 0; i < sum.Values.Length; i++)
        {
            sum.Values[i] += factor * other.Values[i];
            sum.Drifts[i] += factor * other.Drifts[i];
        }
    }

    /// <summary>By contribution.</summary>
    /// <param name="through">Coefficients of what goes into this output in front of it, <paramref name="factor"/> times; null for nothing.</param>
    private double[] Coefficients(Gradient gradient, double[]? through, double factor)
    {
        double[] result = new double[_contributions.Length];
        for (int i = 0; i < result.Length; i++)
        {
            Contribution c = _contributions[i];
            result[i] = (through is null ? 0 : factor * through[i]) + c.Target switch
            {
                ContributionTarget.Value or ContributionTarget.OutsideSupply => gradient.Values[c.Index],
                ContributionTarget.Drift => gradient.Drifts[c.Index],
                _ => 0,
            };
        }

        return result;
    }

    private (double Bow, double S) InputError(ChainGradient gradient, Partials partials)
    {
        if (_inputError < 0)
        {
            return (0, 0);
        }

        List<(double, double)> places = [(partials.Signal * gradient.SignalPerCode, gradient.CodePlace)];
        for (int i = 0; i < partials.Standards.Length; i++)
        {
            ChainGradient standard = _standards.Value![i].Gradient;
            places.Add((partials.Standards[i] * standard.SignalPerCode, standard.CodePlace));
        }

        return Shares(places);
    }

    private static (double Bow, double S) Shares(IEnumerable<(double Weight, double Place)> places)
    {
        (double bow, double s) = (0, 0);
        foreach ((double weight, double place) in places)
        {
            bow += weight * Bend.Share(place, 0);
            s += weight * Bend.Share(place, 1);
        }

        return (bow, s);
    }

    private BudgetTable Table(Weighed weighed, BudgetOutput output, bool withFull)
    {
        List<Line> lines = [];
        double shift = 0;
        for (int i = 0; i < _contributions.Length; i++)
        {
            Contribution c = _contributions[i];
            if (c.Target == ContributionTarget.Value && (c.Index == _inputError || c.Index == _outputError))
            {
                AddConverterError(lines, c, weighed, output);
            }
            else if (c.Target is ContributionTarget.Value or ContributionTarget.Drift || (c.Target == ContributionTarget.OutsideSupply && weighed.Moment == BudgetMoment.Rated))
            {
                int index = i;
                double[] atCorners = [.. weighed.Corners.Select(n => Of(n, output)[index])];
                double[] atMeans = [.. weighed.Means.Select(n => Of(n, output)[index])];
                shift += Add(lines, c, atCorners, atMeans);
            }
            else if (c.Target is ContributionTarget.Condition or ContributionTarget.StandardTemperature)
            {
                shift += weighed.Shifts.TryGetValue(c, out Shift? moved) ? AddCondition(lines, c, moved, output) : 0;
            }
        }

        AddRounding(lines, weighed, output);
        double nominal = NominalError(weighed, output);
        return Total(weighed, output, lines, nominal, nominal + shift, withFull);
    }

    private static double[] Of(Node node, BudgetOutput output) => output == BudgetOutput.Display ? node.Display : node.Loop;

    /// <summary>Adds a line for a contribution and returns by how much its middle moves the output.</summary>
    private static double Add(List<Line> lines, Contribution c, double[] atCorners, double[] atMeans)
    {
        double sensitivity = atCorners.MaxBy(Math.Abs);
        double mean = atMeans.Average();
        double square = atMeans.Average(g => g * g);
        double offset = c.Distribution.Mean - c.Centre;
        double u = c.Distribution.StandardUncertainty;
        double variance = (square * u * u) + (Math.Max(square - (mean * mean), 0) * offset * offset);

        // A drift times a temperature that varies itself has no longer the shape of either.
        bool keepsShape = atMeans.All(g => Math.Abs(g - sensitivity) <= 0.05 * Math.Abs(sensitivity));
        lines.Add(new Line(
            c.Name, c.Owner, c.Stage, c.Unit, c.Limit, sensitivity, Math.Abs(sensitivity * c.Limit), Math.Sqrt(variance), keepsShape ? c.Distribution : null, c.Span));
        return mean * offset;
    }

    /// <summary>Nonlinearity of a converter of unknown bend: at its worst the bow or the S; over all bends the mean of their squares over three.</summary>
    private void AddConverterError(List<Line> lines, Contribution c, Weighed weighed, BudgetOutput output)
    {
        (double Bow, double S) Of(Node n) => (c.Index == _inputError, output) switch
        {
            (true, BudgetOutput.Display) => n.DisplayInputError,
            (true, _) => (n.DisplayInputError.Bow * n.PerIndicated, n.DisplayInputError.S * n.PerIndicated),
            (false, BudgetOutput.Loop) => n.LoopOutputError,
            _ => (0, 0),
        };
        double sensitivity = weighed.Corners.Select(Of).Max(e => Math.Max(Math.Abs(e.Bow), Math.Abs(e.S)));

        // The mixture runs evenly from −1 to 1: E[((1 − |m|) bow + m S)²] = (bow² + S²) / 3.
        double square = weighed.Means.Select(Of).Average(e => ((e.Bow * e.Bow) + (e.S * e.S)) / 3);
        double u = c.Distribution.StandardUncertainty;
        lines.Add(new Line(c.Name, c.Owner, c.Stage, "LSB", c.Limit, sensitivity, Math.Abs(sensitivity * c.Limit), u * Math.Sqrt(square), null, c.Span));
    }

    private static double AddCondition(List<Line> lines, Contribution c, Shift shift, BudgetOutput output)
    {
        double low = output == BudgetOutput.Display ? shift.DisplayLow : shift.LoopLow;
        double high = output == BudgetOutput.Display ? shift.DisplayHigh : shift.LoopHigh;
        double perLow = shift.From < c.Centre ? low / (shift.From - c.Centre) : 0;
        double perHigh = shift.To > c.Centre ? high / (shift.To - c.Centre) : 0;
        double At(double value) => value < c.Centre ? perLow * (value - c.Centre) : perHigh * (value - c.Centre);
        double u = c.Distribution.StandardUncertainty;
        double below = At(c.Distribution.Mean - u);
        double above = At(c.Distribution.Mean + u);
        double effect = Math.Max(Math.Abs(low), Math.Abs(high));
        lines.Add(new Line(c.Name, c.Owner, c.Stage, c.Unit, c.Limit, Math.Abs(low) > Math.Abs(high) ? perLow : perHigh, effect, Math.Abs(above - below) / 2, null, c.Span));
        return (above + below) / 2;
    }

    /// <summary>How much the outputs of the nominal unit move when it is calibrated in standards of another temperature.</summary>
    private void AddStandardTemperature(Dictionary<Contribution, Shift> all, Node reference, ImmutableArray<double> inStandards, UnitState unit, double x)
    {
        if (_contributions.FirstOrDefault(c => c.Target == ContributionTarget.StandardTemperature) is not { } contribution)
        {
            return;
        }

        QuantityRange range = _context.Instrument.Calibration!.Temperature;
        UnitState state = unit.Copy();
        state.Measurand = x;
        double before = _exact.Indicated(reference.Gradient.Signal, inStandards.AsSpan(), _exact.StandardCelsius, state);
        double At(double celsius, ImmutableArray<double> signals) => _exact.Indicated(reference.Gradient.Signal, signals.AsSpan(), celsius, state) - before;
        double low = At(range.Low, _standardsAtEnds.Value.Low);
        double high = At(range.High, _standardsAtEnds.Value.High);
        all.Add(contribution, new Shift(range.Low, range.High, low, high, low * reference.PerIndicated, high * reference.PerIndicated));
    }

    private (ImmutableArray<double> Low, ImmutableArray<double> High) ReadStandardsAtEnds()
    {
        QuantityRange range = _context.Instrument.Calibration!.Temperature;
        return (_exact.InStandards(_evaluator.Nominal, range.Low), _exact.InStandards(_evaluator.Nominal, range.High));
    }

    /// <summary>How much the outputs of the nominal unit move when one condition alone leaves its reference, for each condition.</summary>
    private void AddConditions(Dictionary<Contribution, Shift> all, double x, UnitState unit, ImmutableArray<double> inStandards)
    {
        UnitState state = _evaluator.NewState();
        (double display, double loop)? before = null;
        foreach (Contribution c in _contributions.Where(c => c.Target == ContributionTarget.Condition))
        {
            UnitState.Of condition = (UnitState.Of)c.Index;
            (double from, double to) = condition switch
            {
                UnitState.Of.Age => (0, c.Limit),
                UnitState.Of.Ambient => (_context.Specification.Ambient.Low, _context.Specification.Ambient.High),
                UnitState.Of.Process => (_context.Specification.Process.Low, _context.Specification.Process.High),
                _ => (c.Centre - c.Limit, c.Centre + c.Limit),
            };
            if (condition == UnitState.Of.Age && !Ages(x))
            {
                continue;
            }

            before ??= Read(UnitState.Of.Ambient, unit.AmbientCelsius);
            (double lowDisplay, double lowLoop) = from == c.Centre ? before.Value : Read(condition, from);
            (double highDisplay, double highLoop) = to == c.Centre ? before.Value : Read(condition, to);
            (double display, double loop) = before.Value;
            all.Add(c, new Shift(from, to, lowDisplay - display, highDisplay - display, lowLoop - loop, highLoop - loop));
        }

        (double Display, double Loop) Read(UnitState.Of condition, double value)
        {
            state.CopyFrom(unit);
            state.Measurand = x;
            state.Condition(condition)[0] = value;

            // The load is behind everything that the display knows of.
            bool isMoved = condition != UnitState.Of.Load || before is null;
            double indicated = !_hasDisplay ? x : isMoved ? Indicated(state, inStandards) : before!.Value.display;
            return (indicated, _hasLoop ? _exact.Loop(state, indicated) : double.NaN);
        }
    }

    /// <summary>Whether time alone moves the nominal sensor.</summary>
    private bool Ages(double x)
    {
        UnitState state = _evaluator.NewState();
        state.Measurand = x;
        double young = _context.Instrument.Sensor.Signal(state);
        state.AgeSeconds = Find(UnitState.Of.Age)!.Limit;
        return _context.Instrument.Sensor.Signal(state) != young;
    }

    /// <summary>Changes of the outputs at the ends of a condition.</summary>
    private sealed record Shift(double From, double To, double DisplayLow, double DisplayHigh, double LoopLow, double LoopHigh);

    private void AddRounding(List<Line> lines, Weighed weighed, BudgetOutput output)
    {
        Model model = _context.Model;
        if (model.Converter is { } adc && (output == BudgetOutput.Display || model.OutputConverter is not null))
        {
            double Through(Node n) => output == BudgetOutput.Display ? 1 : n.PerIndicated;
            double[] reading = [.. weighed.Corners.Select(n => Through(n) * n.Partials.Signal)];
            Rounded($"{adc.Name.Value} whole codes", adc, "LSB", 0.5, reading.Max(g => Math.Abs(g)) * Math.Abs(weighed.Reference.Gradient.SignalPerCode));
            Noise("noise of the reading", adc, reading.Max(g => Math.Abs(g)));
            for (int i = 0; weighed.IsCalibrated && i < weighed.InStandards.Length; i++)
            {
                int index = i;
                double perSignal = weighed.Corners.Max(n => Math.Abs(Through(n) * n.Partials.Standards[index]));
                string standard = $"standard {Engineering.Fixed(i + 1, 0)}";
                Rounded($"{adc.Name.Value} whole codes in {standard}", adc, "LSB", 0.5, perSignal * Math.Abs(_standards.Value![i].Gradient.SignalPerCode));
                Noise($"noise in {standard}", adc, perSignal);
            }
        }

        if (output == BudgetOutput.Display && _context.Specification.DisplayStep is { Value: > 0 } step)
        {
            RectangularDistribution rounded = RectangularDistribution.OfStep(step.Value);
            lines.Add(new Line("step of the display", "display", "display", _context.Specification.Unit, step.Value / 2, 1, step.Value / 2, rounded.StandardUncertainty, rounded, step.Span));
        }

        if (output == BudgetOutput.Loop && model.OutputConverter is { } dac)
        {
            Rounded($"{dac.Name.Value} whole codes", dac, "LSB", 0.5, weighed.Corners.Max(n => Math.Abs(n.Gradient.LoopPerVolt)) * _evaluator.VoltsPerOutputCode);
        }

        void Rounded(string name, Stage stage, string unit, double limit, double sensitivity) =>
            lines.Add(new Line(
                name, stage.Name.Value, stage.Name.Value, unit, limit, sensitivity, Math.Abs(sensitivity * limit), Math.Abs(sensitivity) * limit / Math.Sqrt(3),
                new RectangularDistribution(0, limit), stage.Span)
            { IsRounding = true });

        void Noise(string name, Stage stage, double perSignal)
        {
            double rms = _noise.Value * perSignal;
            if (rms > 0)
            {
                lines.Add(new Line(
                    name, stage.Name.Value, stage.Name.Value, _context.SignalUnit, NoiseLimit * _noise.Value, perSignal, NoiseLimit * rms, rms,
                    new NormalDistribution(0, _noise.Value), stage.Span)
                { IsRounding = true });
            }
        }
    }

    private double NominalError(Weighed weighed, BudgetOutput output)
    {
        double indicated = weighed.Reference.Gradient.OfSignal is null ? weighed.Measurand : IndicatedAtReference(weighed);
        if (output == BudgetOutput.Display)
        {
            return indicated - weighed.Measurand;
        }

        UnitState state = weighed.Unit.Copy();
        state.Measurand = weighed.Measurand;
        return _exact.Loop(state, indicated) - _evaluator.LoopScale!.Forward(weighed.Measurand);
    }

    private double IndicatedAtReference(Weighed weighed)
    {
        UnitState state = weighed.Unit.Copy();
        state.Measurand = weighed.Measurand;
        return _exact.Indicated(weighed.Reference.Gradient.Signal, weighed.InStandards.AsSpan(), _exact.StandardCelsius, state);
    }

    /// <summary>What a unit indicates at a state, calibrated as the signals say.</summary>
    private double Indicated(UnitState state, ImmutableArray<double> inStandards) =>
        _exact.Indicated(_exact.Signal(state), inStandards.AsSpan(), _exact.StandardCelsius, state);

    private BudgetTable Total(Weighed weighed, BudgetOutput output, List<Line> lines, double nominal, double mean, bool withFull)
    {
        // Below a millionth of the greatest there is nothing but rounding: what cancels has to be gone.
        double greatest = lines.Select(l => l.Effect).DefaultIfEmpty().Max();
        Line[] kept = [.. lines.Where(l => l.Effect > 1e-6 * greatest || double.IsNaN(l.Effect)).OrderByDescending(l => double.IsNaN(l.Effect) ? double.PositiveInfinity : l.Effect)];
        UncertaintyBudget budget = UncertaintyBudget.Create(
            mean,
            kept.Select(l => new BudgetTerm(new UncertaintyInput(l.Name, 0, double.IsFinite(l.Uncertainty) ? l.Uncertainty : 0, double.PositiveInfinity, l.Distribution), 1)));
        ExpandedUncertainty expanded = budget.ExpandRectangular(Probability) ?? budget.Expand(Probability);
        double variance = kept.Sum(l => l.Uncertainty * l.Uncertainty);
        double allowed = output == BudgetOutput.Display ? _context.AllowedError : _context.AllowedLoopError;
        BudgetTable table = new(
            output,
            weighed.Moment,
            weighed.Measurand,
            [
                .. kept.Select(l => new BudgetLine(
                    l.Name, l.Owner, l.Stage, l.Unit, l.Limit, l.Sensitivity, l.Effect, l.Uncertainty, variance > 0 ? l.Uncertainty * l.Uncertainty / variance : 0, l.Place)),
            ])
        {
            NominalError = nominal,
            MeanError = mean,
            StraightSum = kept.Sum(l => l.Effect),
            RootSumOfSquares = Math.Sqrt(kept.Sum(l => l.Effect * l.Effect)),
            StandardUncertainty = budget.StandardUncertainty,
            EffectiveDegreesOfFreedom = budget.EffectiveDegreesOfFreedom ?? double.PositiveInfinity,
            CoverageFactor = expanded.CoverageFactor,
            ExpandedUncertainty = expanded.Uncertainty,
            Allowed = allowed,
            Span = output == BudgetOutput.Display ? _context.Specification.Range.Width : _context.LoopSpan,
        };
        if (!withFull)
        {
            return table;
        }

        double rounding = kept.Where(l => l.IsRounding).Sum(l => l.Effect) + kept.Where(l => l.Owner == "display").Sum(l => l.Effect);
        return table with { FullLow = Full(weighed, output, -1) - rounding, FullHigh = Full(weighed, output, +1) + rounding };
    }

    /// <summary>The error of the unit, and at the conditions, that the signs of the budget choose, adjusted and calibrated as itself.</summary>
    private double Full(Weighed weighed, BudgetOutput output, int direction)
    {
        // Conditions first: the corner at which everything together reaches furthest.
        Node corner = weighed.Corners.MaxBy(n => Of(n, output).Select((g, i) => Math.Abs(g) * _contributions[i].Limit).Sum())!;
        double[] slopes = Of(corner, output);
        UnitState unit = weighed.Unit.Copy();
        for (int i = 0; i < _contributions.Length; i++)
        {
            Contribution c = _contributions[i];
            int sign = Sign(slopes[i]) * direction;
            if (c.Target == ContributionTarget.Value)
            {
                unit.Values[c.Index] = AtLimit(c, sign);
            }
            else if (c.Target == ContributionTarget.Drift)
            {
                unit.Drifts[c.Index] = _context.Model.Parameters[c.Index].Quantity.SignedDrift + (sign * c.Limit);
            }
        }

        SetBend(unit, corner, output, direction);
        if (weighed.Moment != BudgetMoment.AsBuilt)
        {
            _evaluator.Adjust(unit);
            _evaluator.TrimOutput(unit, limited: false);
        }

        double celsius = StandardCelsius(weighed, output, direction);
        ImmutableArray<double> inStandards = weighed.IsCalibrated ? _exact.InStandards(unit, celsius) : [];
        unit.Measurand = weighed.Measurand;
        (unit.AmbientCelsius, unit.ProcessCelsius, unit.AgeSeconds) = (corner.Ambient, corner.Process, corner.Age);
        foreach ((Contribution c, int i) in _contributions.Select((c, i) => (c, i)))
        {
            if (weighed.Moment == BudgetMoment.Rated && c.Target == ContributionTarget.OutsideSupply)
            {
                unit.Values[c.Index] = AtLimit(c, Sign(slopes[i]) * direction);
            }
        }

        double indicated = !_hasDisplay ? weighed.Measurand : _exact.Indicated(_exact.Signal(unit), inStandards.AsSpan(), celsius, unit);
        return output == BudgetOutput.Display ? indicated - weighed.Measurand : _exact.Loop(unit, indicated) - _evaluator.LoopScale!.Forward(weighed.Measurand);
    }

    /// <summary>The temperature of the standards that moves an output most into a direction.</summary>
    private double StandardCelsius(Weighed weighed, BudgetOutput output, int direction)
    {
        foreach ((Contribution c, Shift shift) in weighed.Shifts)
        {
            if (c.Target == ContributionTarget.StandardTemperature)
            {
                (double low, double high) = output == BudgetOutput.Display ? (shift.DisplayLow, shift.DisplayHigh) : (shift.LoopLow, shift.LoopHigh);
                return Math.Max(low * direction, high * direction) <= 0 ? _exact.StandardCelsius : low * direction > high * direction ? shift.From : shift.To;
            }
        }

        return _exact.StandardCelsius;
    }

    /// <summary>A slope that could not be had moves nothing.</summary>
    private static int Sign(double slope) => slope > 0 ? 1 : slope < 0 ? -1 : 0;

    private double AtLimit(Contribution c, int sign) =>
        sign > 0 ? _context.Model.Parameters.High(c.Index) : sign < 0 ? _context.Model.Parameters.Low(c.Index) : c.Centre;

    /// <summary>The converters' nonlinearity at its limits, bent as hurts most.</summary>
    private void SetBend(UnitState unit, Node corner, BudgetOutput output, int direction)
    {
        Set(_inputError, corner.DisplayInputError, output == BudgetOutput.Display ? 1 : corner.PerIndicated, UnitState.Of.InputBend);
        Set(_outputError, corner.LoopOutputError, output == BudgetOutput.Display ? 0 : 1, UnitState.Of.OutputBend);

        void Set(int index, (double Bow, double S) error, double factor, UnitState.Of bend)
        {
            if (index >= 0)
            {
                bool isBow = Math.Abs(error.Bow) >= Math.Abs(error.S);
                unit.Condition(bend)[0] = isBow ? 0 : 1;
                double slope = (isBow ? error.Bow : error.S) * factor * direction;
                unit.Values[index] = slope >= 0 ? _context.Model.Parameters.High(index) : _context.Model.Parameters.Low(index);
            }
        }
    }

    private sealed record Line(
        string Name, string Owner, string Stage, string Unit, double Limit, double Sensitivity, double Effect, double Uncertainty, Distribution? Distribution, SourceSpan Place)
    {
        /// <summary>Whether it is added as it is to a unit solved in full.</summary>
        public bool IsRounding { get; init; }
    }
}
