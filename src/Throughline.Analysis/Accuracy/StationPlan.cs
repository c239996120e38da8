using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// A network with meters, made ready to be solved for blocks of units: which of its slots are filled when a unit is set up, which at each solve. Immutable,
/// shared between threads.
/// </summary>
internal sealed class StationPlan
{
    private readonly AdjustmentStep? _step;
    private readonly bool _limited;
    private readonly BatchProgram? _program;

    private StationPlan(AdjustmentStep? step, bool limited, ImmutableArray<Reading> meters, BatchProgram? program)
    {
        _step = step;
        _limited = limited;
        Meters = meters;
        _program = program;
    }

    public ImmutableArray<Reading> Meters { get; }

    /// <summary>Forms of the slots that are filled at each set-up.</summary>
    public ImmutableArray<SlotForm> Fixed { get; private init; } = [];

    /// <summary>Forms of the slots that are filled at each solve.</summary>
    public ImmutableArray<SlotForm> Moving { get; private init; } = [];

    /// <summary>The unit by which the forms were found. Copy it; do not change it.</summary>
    public UnitState? Sample { get; private init; }

    /// <summary>Whether nothing but sources moves from solve to solve.</summary>
    public bool OnlySourcesMove { get; private init; }

    /// <summary>Whether blocks are solved by one program for all units.</summary>
    public bool IsFast => _program is not null;

    /// <param name="evaluator">Of the model; one of its networks is solved at the point around which the units lie.</param>
    /// <param name="step">The step of the adjustment whose network it is; null for the network in use.</param>
    /// <param name="point">A nominal unit in the middle of what it will be asked.</param>
    /// <param name="meters">What is read; without a law beside.</param>
    /// <param name="moving">Conditions that are other at each solve.</param>
    /// <param name="trimmer">The trimmer that is turned from solve to solve; −1 for none.</param>
    /// <param name="limited">Whether amplifiers keep their limits.</param>
    /// <param name="onlyFull">Whether every unit goes to the full solver.</param>
    public static StationPlan Create(
        Evaluator evaluator, AdjustmentStep? step, UnitState point, ImmutableArray<Reading> meters, IReadOnlyCollection<UnitState.Of> moving, int trimmer, bool limited, bool onlyFull)
    {
        NetworkRun run = RunOf(evaluator, step);
        BoundNetwork bound = run.Bound;
        StationPlan full = new(step, limited, meters, null);
        OperatingPoint nominal = run.Solve(point, limited);
        if (onlyFull || nominal.Status != SolveStatus.Solved)
        {
            return full;
        }

        Model model = evaluator.Model;
        UnitState sample = SampleOf(evaluator, point);
        List<SlotForm> fixedForms = [];
        List<SlotForm> movingForms = [];
        bool onlySources = true;
        foreach (Binding binding in bound.Bindings)
        {
            if (!limited && bound.IsLimit(binding.Slot))
            {
                continue;
            }

            SlotForm form = SlotForm.Find(binding, sample, model);
            if (moving.Any(form.Depends.Contains) || (trimmer >= 0 && binding.Trimmers.Contains(trimmer)))
            {
                movingForms.Add(form);
                onlySources &= binding.IsSource;
            }
            else if (Varies(form, model))
            {
                fixedForms.Add(form);
            }
        }

        ImmutableArray<int> slots = [.. movingForms.Select(f => f.Binding.Slot)];
        BatchProgram program = BatchProgram.Create(
            bound.Network,
            nominal,
            [.. meters.Select(m => m.Probe)],
            new BatchSlots { Fixed = [.. fixedForms.Select(f => f.Binding.Slot)], Changing = onlySources ? [] : slots, Sources = onlySources ? slots : [] },
            limited);
        return new StationPlan(step, limited, meters, program)
        {
            Sample = sample,
            Fixed = [.. fixedForms.Where(f => program.Reads(f.Binding.Slot))],
            Moving = [.. movingForms.Where(f => program.Reads(f.Binding.Slot))],
            OnlySourcesMove = onlySources,
        };
    }

    public Station CreateStation(Evaluator evaluator, int lanes, bool isCompiled)
    {
        FullStation full = new(RunOf(evaluator, _step), Meters, lanes, _limited);
        return _program is null ? full : new FastStation(this, _program.CreateRun(lanes, isCompiled), full, evaluator.Model);
    }

    private static NetworkRun RunOf(Evaluator evaluator, AdjustmentStep? step) => step is null ? evaluator.Field : evaluator.BenchOf(step);

    private static bool Varies(SlotForm form, Model model) =>
        form.Kind != SlotFormKind.Constant
        && (form.Depends.Count > 0
            || form.Binding.Trimmers.Length > 0
            || form.Binding.Parameters.Any(p => SlotForm.Varies(model, p)));

    /// <summary>A unit that is nominal in nothing, so that no dependence hides behind a nought; its drifts are nought.</summary>
    private static UnitState SampleOf(Evaluator evaluator, UnitState point)
    {
        UnitState sample = point.Copy();
        ParameterSet parameters = evaluator.Model.Parameters;
        for (int i = 0; i < parameters.Count; i++)
        {
            sample.Values[i] = parameters.Low(i) + (0.37 * (parameters.High(i) - parameters.Low(i)));
            sample.Drifts[i] = 0;
        }

        return sample;
    }
}

/// <summary>Solves a block by one program; units that it can't settle go to the full solver.</summary>
internal sealed class FastStation : Station
{
    private static readonly int ConditionCount = Enum.GetValues<UnitState.Of>().Length;

    private readonly StationPlan _plan;
    private readonly BatchRun _run;
    private readonly FullStation _full;
    private readonly OutputConverterLaw? _drive;
    private readonly (double Low, double High) _range;
    private readonly double[] _conditions;
    private readonly bool[] _hasMoved = new bool[ConditionCount];
    private readonly double[] _lines;
    private readonly OutputConverterLaw.Errors[] _errors;
    private readonly UnitState _sample;
    private int _version = -1;

    public FastStation(StationPlan plan, BatchRun run, FullStation full, Model model)
        : base(plan.Meters.Length, run.Lanes)
    {
        _plan = plan;
        _run = run;
        _full = full;
        _drive = model.OutputConverterLaw;
        _range = (model.Instrument.Specification.Range.Low, model.Instrument.Specification.Range.High);
        _conditions = new double[ConditionCount * run.Lanes];
        _lines = new double[plan.Moving.Length * 2 * run.Lanes];
        _errors = new OutputConverterLaw.Errors[run.Lanes];
        _sample = new UnitState(model.Parameters, model.Trimmers.Length);
        _sample.CopyFrom(plan.Sample!);
    }

    public override void Prepare(UnitState block, int count)
    {
        Compare(block);
        Span<double> kelvin = _run.Kelvin;
        ReadOnlySpan<double> ambient = block.Condition(UnitState.Of.Ambient);
        for (int lane = 0; lane < kelvin.Length; lane++)
        {
            kelvin[lane] = ambient[lane] + 273.15;
        }

        foreach (SlotForm form in _plan.Fixed)
        {
            if (NeedsFilling(form, block))
            {
                Fill(form, block, count);
            }
        }

        for (int i = 0; i < _plan.Moving.Length; i++)
        {
            Ready(_plan.Moving[i], i, block, count);
        }

        _version = block.Version;
        _run.Prepare();
    }

    public override void Solve(UnitState block, int count)
    {
        for (int i = 0; i < _plan.Moving.Length; i++)
        {
            Move(_plan.Moving[i], i, block, count);
        }

        if (_plan.OnlySourcesMove)
        {
            _run.SolveSources();
        }
        else
        {
            _run.Solve();
        }

        for (int m = 0; m < _plan.Meters.Length; m++)
        {
            _run.Reading(m)[..count].CopyTo(Reading(m));
        }

        if (_run.AllSettled())
        {
            return;
        }

        for (int lane = 0; lane < count; lane++)
        {
            if (!_run.IsSettled(lane))
            {
                _full.SolveLane(block, lane);
                for (int m = 0; m < _plan.Meters.Length; m++)
                {
                    Reading(m)[lane] = _full.Reading(m)[lane];
                }
            }
        }
    }

    /// <summary>Finds which conditions are others than at the last set-up.</summary>
    private void Compare(UnitState block)
    {
        for (int i = 0; i < ConditionCount; i++)
        {
            ReadOnlySpan<double> now = block.Condition((UnitState.Of)i);
            Span<double> before = _conditions.AsSpan(i * Lanes, Lanes);
            _hasMoved[i] = !now.SequenceEqual(before);
            now.CopyTo(before);
        }
    }

    /// <summary>Whether a slot is to be filled anew: what is asked unit by unit is asked only when something that it reads has changed.</summary>
    private bool NeedsFilling(SlotForm form, UnitState block)
    {
        if (form.Kind is not (SlotFormKind.General or SlotFormKind.Separable or SlotFormKind.LineOverMeasurand or SlotFormKind.Drive)
            || form.Binding.Trimmers.Length > 0 || _version != block.Version || _hasMoved[(int)UnitState.Of.Ambient])
        {
            return true;
        }

        foreach (UnitState.Of condition in form.Depends)
        {
            if (_hasMoved[(int)condition])
            {
                return true;
            }
        }

        // A condition that multiplies a nought in the sample, such as age an ageing, is not among what it was seen to depend on.
        return form.Binding.Parameters.Length > 1 && (_hasMoved[(int)UnitState.Of.Age] || _hasMoved[(int)UnitState.Of.Process]);
    }

    /// <summary>Asks what of a moving slot stays the same from solve to solve.</summary>
    private void Ready(SlotForm form, int index, UnitState block, int count)
    {
        switch (form.Kind)
        {
            case SlotFormKind.LineOverMeasurand:
                Span<double> measurand = block.Condition(UnitState.Of.Measurand);
                for (int lane = 0; lane < count; lane++)
                {
                    block.Lane = lane;
                    double kept = measurand[lane];
                    measurand[lane] = _range.Low;
                    double low = form.Binding.Law(block);
                    measurand[lane] = _range.High;
                    Line(index, 0)[lane] = low;
                    Line(index, 1)[lane] = (form.Binding.Law(block) - low) / (_range.High - _range.Low);
                    measurand[lane] = kept;
                }

                break;
            case SlotFormKind.Drive:
                for (int lane = 0; lane < count; lane++)
                {
                    block.Lane = lane;
                    _errors[lane] = _drive!.Of(block);
                }

                break;
            default:
                break;
        }
    }

    private void Move(SlotForm form, int index, UnitState block, int count)
    {
        Span<double> slot = _run.Slot(form.Binding.Slot);
        switch (form.Kind)
        {
            case SlotFormKind.LineOverMeasurand:
                ReadOnlySpan<double> measurand = block.Condition(UnitState.Of.Measurand);
                ReadOnlySpan<double> low = Line(index, 0);
                ReadOnlySpan<double> slope = Line(index, 1);
                for (int lane = 0; lane < count; lane++)
                {
                    slot[lane] = low[lane] + (slope[lane] * (measurand[lane] - _range.Low));
                }

                break;
            case SlotFormKind.Drive:
                ReadOnlySpan<double> asked = block.Condition(UnitState.Of.Drive);
                for (int lane = 0; lane < count; lane++)
                {
                    slot[lane] = _drive!.Volts(asked[lane], _errors[lane]);
                }

                break;
            default:
                Fill(form, block, count);
                break;
        }
    }

    private Span<double> Line(int index, int part) => _lines.AsSpan(((index * 2) + part) * Lanes, Lanes);

    private void Fill(SlotForm form, UnitState block, int count)
    {
        Span<double> slot = _run.Slot(form.Binding.Slot);
        switch (form.Kind)
        {
            case SlotFormKind.Constant:
                slot.Fill(form.A);
                break;
            case SlotFormKind.Affine:
                FillAffine(form, block, slot);
                break;
            case SlotFormKind.Trimmer:
                FillTrimmer(form, block, slot);
                break;
            case SlotFormKind.Separable when IsUniform(block, form.Depends):
                FillSeparable(form, block, slot);
                break;
            default:
                for (int lane = 0; lane < count; lane++)
                {
                    block.Lane = lane;
                    slot[lane] = form.Binding.Law(block);
                }

                break;
        }
    }

    /// <summary>Whether conditions are the same in all units, as they are at every test but in use.</summary>
    private static bool IsUniform(UnitState block, HashSet<UnitState.Of> conditions)
    {
        foreach (UnitState.Of condition in conditions)
        {
            ReadOnlySpan<double> row = block.Condition(condition);
            if (row.ContainsAnyExcept(row[0]))
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>The function of the temperature is asked of the sample, which no unit of the block has a part in.</summary>
    private void FillSeparable(SlotForm form, UnitState block, Span<double> slot)
    {
        double factor = 1;
        foreach (UnitState.Of condition in form.Depends)
        {
            Span<double> at = _sample.Condition(condition);
            double kept = at[0];
            double before = form.Binding.Law(_sample);
            at[0] = block.Condition(condition)[0];
            factor = form.Binding.Law(_sample) / before;
            at[0] = kept;
        }

        ReadOnlySpan<double> ambient = block.Condition(UnitState.Of.Ambient);
        ReadOnlySpan<double> values = form.Parameter < 0 ? ambient : block.ValuesOf(form.Parameter);
        ReadOnlySpan<double> drifts = form.Parameter < 0 ? ambient : block.DriftsOf(form.Parameter);
        ReadOnlySpan<double> others = form.Trimmer < 0 ? values : block.ValuesOf(form.Trimmer);
        ReadOnlySpan<double> otherDrifts = form.Trimmer < 0 ? drifts : block.DriftsOf(form.Trimmer);
        for (int lane = 0; lane < slot.Length; lane++)
        {
            double kelvin = ambient[lane] - UnitState.ReferenceCelsius;
            slot[lane] = form.Straight(values[lane] + (drifts[lane] * kelvin), others[lane] + (otherDrifts[lane] * kelvin)) * factor;
        }
    }

    private static void FillAffine(SlotForm form, UnitState block, Span<double> slot)
    {
        ReadOnlySpan<double> values = block.ValuesOf(form.Parameter);
        ReadOnlySpan<double> drifts = block.DriftsOf(form.Parameter);
        ReadOnlySpan<double> ambient = block.Condition(UnitState.Of.Ambient);
        if (form is { A: 0, B: 1 })
        {
            for (int lane = 0; lane < slot.Length; lane++)
            {
                slot[lane] = values[lane] + (drifts[lane] * (ambient[lane] - UnitState.ReferenceCelsius));
            }

            return;
        }

        for (int lane = 0; lane < slot.Length; lane++)
        {
            slot[lane] = form.Value(values[lane] + (drifts[lane] * (ambient[lane] - UnitState.ReferenceCelsius)), 0);
        }
    }

    private static void FillTrimmer(SlotForm form, UnitState block, Span<double> slot)
    {
        ReadOnlySpan<double> positions = block.PositionsOf(form.Trimmer);
        ReadOnlySpan<double> ambient = block.Condition(UnitState.Of.Ambient);
        if (form.Parameter < 0)
        {
            for (int lane = 0; lane < slot.Length; lane++)
            {
                slot[lane] = form.Value(0, positions[lane]);
            }

            return;
        }

        ReadOnlySpan<double> values = block.ValuesOf(form.Parameter);
        ReadOnlySpan<double> drifts = block.DriftsOf(form.Parameter);
        for (int lane = 0; lane < slot.Length; lane++)
        {
            slot[lane] = form.Value(values[lane] + (drifts[lane] * (ambient[lane] - UnitState.ReferenceCelsius)), positions[lane]);
        }
    }
}
