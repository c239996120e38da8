using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// The life of a block of units: drawn, tested as built, adjusted, calibrated, tested over the rated conditions. What becomes of a unit follows from its
/// own draws alone. Holds buffers; one per thread.
/// </summary>
internal sealed partial class UnitLife
{
    private readonly Evaluator _evaluator;
    private readonly UnitState _block;
    private readonly Station? _input;
    private readonly Station? _output;
    private readonly double[] _held;
    private readonly double[] _noise;
    private readonly double[] _displayErrors;
    private readonly double[] _loopErrors;
    private readonly ImmutableArray<double> _signalOfCode;
    private readonly double _leastCode;
    private readonly double[] _codes;
    private readonly double[] _references;
    private readonly double[] _assumed;
    private readonly ConverterLaw.Errors[] _errors;
    private readonly bool _isCompiled;
    private bool _isInUse;

    /// <param name="lanes">How many units are lived at a time.</param>
    /// <param name="isCompiled">Whether machine code is made for it, some hundred milliseconds of work that a thousand units bring in again. The units are the same bits.</param>
    public UnitLife(LifePlan plan, int lanes, bool isCompiled = true)
    {
        Plan = plan;
        Lanes = lanes;
        _isCompiled = isCompiled;
        Model model = plan.Model;
        _evaluator = plan.CreateEvaluator();
        _block = new UnitState(model.Parameters, model.Trimmers.Length, lanes);
        _held = new double[plan.Contributions.Length * lanes];
        _noise = new double[plan.NoiseNames.Length * lanes];
        int readings = plan.Tests.Length * plan.Points.Length * lanes;
        _displayErrors = new double[readings];
        _loopErrors = new double[readings];
        _codes = new double[lanes];
        _references = new double[lanes];
        _assumed = new double[lanes];
        _lowCurrents = new double[lanes];
        _errors = new ConverterLaw.Errors[lanes];
        _input = plan.Input?.CreateStation(_evaluator, lanes, isCompiled);
        _output = plan.Output?.CreateStation(_evaluator, lanes, isCompiled);
        (_leastCode, _signalOfCode) = (plan.LeastCode, plan.SignalOfCode);
        _isBusy = new bool[lanes];
        _steps = [.. Enumerable.Range(0, model.Instrument.Adjustment.Length).Select(i => new BenchStep(this, i))];
        Rounds = new int[lanes];
        _calibrator = _evaluator.Calibrator;
        _signals = new double[Math.Max(_calibrator.Points, 1) * lanes];
        Verdicts = new CalibrationVerdict[lanes];
        Zeros = new double[lanes];
        Slopes = new double[lanes];
        _standardTemperature = plan.IndexOf(ContributionTarget.StandardTemperature);
    }

    public LifePlan Plan { get; }

    public int Lanes { get; }

    /// <summary>The units as they are now: after <see cref="Live"/>, as they are in use.</summary>
    public UnitState Block => _block;

    /// <summary>What the display showed less the truth, in the measurand's unit, of every unit of the block; NaN where there was no reading.</summary>
    public ReadOnlySpan<double> DisplayErrors(int test, int point) => Row(_displayErrors, test, point);

    /// <summary>The loop's current less what the scale asks for, A.</summary>
    public ReadOnlySpan<double> LoopErrors(int test, int point) => Row(_loopErrors, test, point);

    /// <summary>What was drawn for a contribution.</summary>
    public ReadOnlySpan<double> Drawn(int contribution) => Held(contribution);

    /// <summary>Draws consecutive units.</summary>
    /// <param name="source">Has the plan's streams in their order.</param>
    public void Draw(UniformSource source, ulong first, int count)
    {
        for (int i = 0; i < Plan.Contributions.Length; i++)
        {
            Span<double> row = Held(i)[..count];
            source.Fill(i, first, row);
            Plan.Contributions[i].Distribution.Quantiles(row, row);
        }

        for (int i = 0; i < Plan.NoiseNames.Length; i++)
        {
            Span<double> row = _noise.AsSpan(i * Lanes, count);
            source.Fill(Plan.Contributions.Length + i, first, row);
            StandardNormal.Quantiles(row, row);
        }
    }

    /// <summary>How many figures make a unit: its contributions, then its noise.</summary>
    public int DrawCount => Plan.Contributions.Length + Plan.NoiseNames.Length;

    /// <summary>The figures that were drawn for a unit of the block.</summary>
    public void CopyDraws(int lane, Span<double> draws)
    {
        for (int i = 0; i < DrawCount; i++)
        {
            draws[i] = Figure(i, lane);
        }
    }

    /// <summary>Makes a unit of given figures.</summary>
    /// <param name="exchanged">The contribution that comes from <paramref name="other"/>; negative for none, the number of contributions for all of the noise.</param>
    public void Place(int lane, ReadOnlySpan<double> draws, ReadOnlySpan<double> other, int exchanged = -1)
    {
        int contributions = Plan.Contributions.Length;
        for (int i = 0; i < DrawCount; i++)
        {
            bool isExchanged = i == exchanged || (i >= contributions && exchanged == contributions);
            Figure(i, lane) = isExchanged ? other[i] : draws[i];
        }
    }

    /// <summary>Lives the first units of the block, which must have been drawn.</summary>
    /// <exception cref="OperationCanceledException"><paramref name="cancel"/> was cancelled; asked between what is done to them.</exception>
    public void Live(int count, CancellationToken cancel = default)
    {
        Build(count);
        _block.Condition(UnitState.Of.CalibrationOffset).Fill(CalibrationLine.Neutral.Offset);
        _block.Condition(UnitState.Of.CalibrationGain).Fill(CalibrationLine.Neutral.Gain);
        _block.Condition(UnitState.Of.TrimOffset).Fill(OutputTrim.Neutral.Offset);
        _block.Condition(UnitState.Of.TrimGain).Fill(OutputTrim.Neutral.Gain);
        for (int t = 0; t < Plan.Tests.Length; t++)
        {
            cancel.ThrowIfCancellationRequested();
            switch (Plan.Tests[t].Moment)
            {
                case Moment.Adjusted:
                    Adjust(Plan.Tests[t], count);
                    TrimOutput(Plan.Tests[t], count);
                    break;
                case Moment.Calibrated:
                    Calibrate(Plan.Tests[t], count);
                    break;
                default:
                    break;
            }

            Test(t, count);
        }
    }

    private ref double Figure(int index, int lane) =>
        ref index < Plan.Contributions.Length ? ref _held[(index * Lanes) + lane] : ref _noise[((index - Plan.Contributions.Length) * Lanes) + lane];

    private Span<double> Held(int contribution) => _held.AsSpan(contribution * Lanes, Lanes);

    private ReadOnlySpan<double> Row(double[] errors, int test, int point) => errors.AsSpan(((test * Plan.Points.Length) + point) * Lanes, Lanes);

    /// <summary>Puts what was drawn into the block; trimmers where the file says, outside supplies at their stated value.</summary>
    private void Build(int count)
    {
        _block.Version++;
        _block.ResetParameters();
        for (int t = 0; t < Plan.Model.Trimmers.Length; t++)
        {
            _block.PositionsOf(t).Fill(((ITrimmer)Plan.Model.Trimmers[t]).InitialPosition);
        }

        for (int i = 0; i < Plan.Contributions.Length; i++)
        {
            Contribution c = Plan.Contributions[i];
            Span<double> row = Held(i)[..count];
            switch (c.Target)
            {
                case ContributionTarget.Value:
                    row.CopyTo(_block.ValuesOf(c.Index));
                    break;
                case ContributionTarget.Drift:
                    double known = Plan.Model.Parameters[c.Index].Quantity.SignedDrift;
                    Span<double> drifts = _block.DriftsOf(c.Index);
                    for (int lane = 0; lane < count; lane++)
                    {
                        drifts[lane] = known + row[lane];
                    }

                    break;
                case ContributionTarget.Bend:
                    row.CopyTo(_block.Condition(c.Index == 0 ? UnitState.Of.InputBend : UnitState.Of.OutputBend));
                    break;
                default:
                    break;
            }
        }
    }

    /// <summary>Sets the conditions of a test in every unit.</summary>
    private void SetConditions(TestConditions test, int count)
    {
        _block.Condition(UnitState.Of.Ambient).Fill(test.Ambient);
        _block.Condition(UnitState.Of.Process).Fill(test.Process);
        _block.Condition(UnitState.Of.Age).Fill(test.AgeSeconds);
        _block.Condition(UnitState.Of.Load).Fill(_evaluator.Nominal.Burden);
        _block.Condition(UnitState.Of.Simulated).Fill(_evaluator.NominalMiddleSignal());
        foreach (Parameter p in Plan.Model.OutsideSupplies())
        {
            _block.ValuesOf(Plan.Model.Parameters.IndexOf(p)).Fill(p.Quantity.Value);
        }

        // Supplies from outside are parameters too.
        bool isInUse = test.Moment == Moment.InUse;
        _block.Version += isInUse == _isInUse ? 0 : 1;
        _isInUse = isInUse;
        if (!isInUse)
        {
            return;
        }

        UnitState nominal = _evaluator.Nominal;
        _block.Condition(UnitState.Of.Ambient).Fill(nominal.AmbientCelsius);
        _block.Condition(UnitState.Of.Process).Fill(nominal.ProcessCelsius);
        _block.Condition(UnitState.Of.Age).Clear();
        for (int i = 0; i < Plan.Contributions.Length; i++)
        {
            Contribution c = Plan.Contributions[i];
            Span<double> row = Held(i)[..count];
            if (c.Target == ContributionTarget.Condition)
            {
                row.CopyTo(_block.Condition((UnitState.Of)c.Index));
            }
            else if (c.Target == ContributionTarget.OutsideSupply)
            {
                row.CopyTo(_block.ValuesOf(c.Index));
            }
        }
    }

    private void Test(int test, int count)
    {
        TestConditions conditions = Plan.Tests[test];
        SetConditions(conditions, count);
        _block.Condition(UnitState.Of.Drive).Fill(_evaluator.Nominal.DriveVolts);
        _input?.Prepare(_block, count);
        _output?.Prepare(_block, count);
        ReadyConverter(count);
        for (int p = 0; p < Plan.Points.Length; p++)
        {
            int at = ((test * Plan.Points.Length) + p) * Lanes;
            Span<double> displayErrors = _displayErrors.AsSpan(at, count);
            Span<double> loopErrors = _loopErrors.AsSpan(at, count);
            double x = Plan.Points[p];
            _block.Condition(UnitState.Of.Measurand).Fill(x);
            if (_input is not null)
            {
                ReadCodes((test * Plan.Points.Length) + p, count);
                ShowAndDrive(x, displayErrors, count);
            }
            else
            {
                displayErrors.Fill(double.NaN);
                DriveDirectly(x, count);
            }

            if (_output is null)
            {
                loopErrors.Fill(double.NaN);
                continue;
            }

            _output.Solve(_block, count);
            Span<double> amperes = _output.Reading(0);
            for (int lane = 0; lane < count; lane++)
            {
                loopErrors[lane] = amperes[lane] - Plan.LoopCentres[p];
            }
        }
    }

    /// <summary>Codes of the converter with the measurand as it is set, noise and rounding included; NaN for a unit without an operating point.</summary>
    /// <param name="noise">Number of the reading among the noise's streams.</param>
    private void ReadCodes(int noise, int count)
    {
        _input!.Solve(_block, count);
        ReadOnlySpan<double> volts = _input.Reading(0);
        ReadOnlySpan<double> references = Plan.Model.Converter!.ReferenceNodes is null ? _references : _input.Reading(1);
        ConverterLaw law = Plan.Model.ConverterLaw!;
        (double low, double high) = law.Range;
        ReadOnlySpan<double> noises = _noise.Length > 0 ? _noise.AsSpan(noise * Lanes, count) : [];
        for (int lane = 0; lane < count; lane++)
        {
            double exact = law.Code(volts[lane], references[lane], _errors[lane]);
            if (noises.Length > 0)
            {
                exact += Plan.NoiseCodes * noises[lane];
            }

            _codes[lane] = Math.Clamp(Math.Round(exact), low, high);
        }
    }

    /// <summary>Asks what of converter and code stays the same while the measurand moves.</summary>
    private void ReadyConverter(int count)
    {
        ConverterLaw? law = Plan.Model.ConverterLaw;
        bool hasReference = Plan.Model.Converter?.Reference is not null;
        for (int lane = 0; lane < count && law is not null; lane++)
        {
            _block.Lane = lane;
            _errors[lane] = law.Of(_block);
            _assumed[lane] = _evaluator.AssumedProcess(_block);
            if (hasReference)
            {
                _references[lane] = Plan.Model.Converter!.ReferenceVolts(_block);
            }
        }
    }

    private void ShowAndDrive(double x, Span<double> displayErrors, int count)
    {
        Span<double> drive = _block.Condition(UnitState.Of.Drive);
        bool hasOutput = Plan.Model.OutputConverter is not null;
        for (int lane = 0; lane < count; lane++)
        {
            _block.Lane = lane;
            double indicated = _calibrator.Indicated(_block.Calibration, SignalOf(_codes[lane]), _assumed[lane], _block);
            displayErrors[lane] = _evaluator.Shown(indicated) - x;
            if (hasOutput)
            {
                drive[lane] = DriveFor(indicated);
            }
        }
    }

    private void DriveDirectly(double x, int count)
    {
        if (Plan.Model.OutputConverter is null)
        {
            return;
        }

        Span<double> drive = _block.Condition(UnitState.Of.Drive);
        for (int lane = 0; lane < count; lane++)
        {
            _block.Lane = lane;
            drive[lane] = DriveFor(x);
        }
    }

    private double DriveFor(double indicated) =>
        _evaluator.NearestOutputCode(_block.OutputTrim.Of(_evaluator.OutputCodeOf(_evaluator.WantedValue(indicated)))) * _evaluator.VoltsPerOutputCode;

    private double SignalOf(double code)
    {
        double index = code - _leastCode;
        return index >= 0 && index < _signalOfCode.Length ? _signalOfCode[(int)index] : _evaluator.SignalOfCode(code);
    }
}
