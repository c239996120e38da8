using System.Collections.Immutable;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>
/// A network with meters, made ready to be solved for blocks of units: which of its slots are filled when a unit is set up, which at each solve. Immutable,
/// shared between threads.
/// </summary>
internal sealed class StationPlan
{
    private readonly bool _isBench;
    private readonly bool _limited;
    private readonly BatchProgram? _program;

    private StationPlan(bool isBench, bool limited, ImmutableArray<Reading> meters, BatchProgram? program)
    {
        _isBench = isBench;
        _limited = limited;
        Meters = meters;
        _program = program;
    }

    public ImmutableArray<Reading> Meters { get; }

    /// <summary>Forms of the slots that are filled at each set-up.</summary>
    public ImmutableArray<SlotForm> Fixed { get; private init; } = [];

    /// <summary>Forms of the slots that are filled at each solve.</summary>
    public ImmutableArray<SlotForm> Moving { get; private init; } = [];

    /// <summary>Whether nothing but sources moves from solve to solve.</summary>
    public bool OnlySourcesMove { get; private init; }

    /// <summary>Whether blocks are solved by one program for all units.</summary>
    public bool IsFast => _program is not null;

    /// <param name="evaluator">Of the model; its bench or its field network is solved at the point around which the units lie.</param>
    /// <param name="isBench">Whether the bench's source is in the sensor's place.</param>
    /// <param name="point">A nominal unit in the middle of what it will be asked.</param>
    /// <param name="meters">What is read; without a law beside.</param>
    /// <param name="moving">Conditions that are other at each solve.</param>
    /// <param name="trimmer">The trimmer that is turned from solve to solve; −1 for none.</param>
    /// <param name="limited">Whether amplifiers keep their limits.</param>
    /// <param name="onlyFull">Whether every unit goes to the full solver.</param>
    public static StationPlan Create(
        Evaluator evaluator, bool isBench, UnitState point, ImmutableArray<Reading> meters, IReadOnlyCollection<UnitState.Of> moving, int trimmer, bool limited, bool onlyFull)
    {
        NetworkRun run = isBench ? evaluator.Bench : evaluator.Field;
        BoundNetwork bound = run.Bound;
        StationPlan full = new(isBench, limited, meters, null);
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
        return new StationPlan(isBench, limited, meters, program)
        {
            Fixed = [.. fixedForms.Where(f => program.Reads(f.Binding.Slot))],
            Moving = [.. movingForms.Where(f => program.Reads(f.Binding.Slot))],
            OnlySourcesMove = onlySources,
        };
    }

    public Station CreateStation(Evaluator evaluator, int lanes)
    {
        FullStation full = new(_isBench ? evaluator.Bench : evaluator.Field, Meters, lanes, _limited);
        return _program is null ? full : new FastStation(this, _program.CreateRun(lanes), full);
    }

    private static bool Varies(SlotForm form, Model model) =>
        form.Kind != SlotFormKind.Constant
        && (form.Depends.Count > 0
            || form.Binding.Trimmers.Length > 0
            || form.Binding.Parameters.Any(p =>
                model.Parameters.High(p) > model.Parameters.Low(p) || model.Parameters[p].Quantity.Drift > 0 || model.Parameters[p].Quantity.SignedDrift != 0));

    /// <summary>A unit that is nominal in nothing, so that no dependence hides behind a nought; its drifts are nought.</summary>
    private static UnitState SampleOf(Evaluator evaluator, UnitState point)
    {
        UnitState sample = evaluator.NewState();
        sample.CopyFrom(point);
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
internal sealed class FastStation(StationPlan plan, BatchRun run, FullStation full) : Station(plan.Meters.Length, run.Lanes)
{
    public override void Prepare(UnitState block, int count)
    {
        Span<double> kelvin = run.Kelvin;
        ReadOnlySpan<double> ambient = block.Condition(UnitState.Of.Ambient);
        for (int lane = 0; lane < kelvin.Length; lane++)
        {
            kelvin[lane] = ambient[lane] + 273.15;
        }

        foreach (SlotForm form in plan.Fixed)
        {
            Fill(form, block, count);
        }

        run.Prepare();
    }

    public override void Solve(UnitState block, int count)
    {
        foreach (SlotForm form in plan.Moving)
        {
            Fill(form, block, count);
        }

        if (plan.OnlySourcesMove)
        {
            run.SolveSources();
        }
        else
        {
            run.Solve();
        }

        for (int m = 0; m < plan.Meters.Length; m++)
        {
            run.Reading(m)[..count].CopyTo(Reading(m));
        }

        if (run.AllSettled())
        {
            return;
        }

        for (int lane = 0; lane < count; lane++)
        {
            if (!run.IsSettled(lane))
            {
                full.SolveLane(block, lane);
                for (int m = 0; m < plan.Meters.Length; m++)
                {
                    Reading(m)[lane] = full.Reading(m)[lane];
                }
            }
        }
    }

    private void Fill(SlotForm form, UnitState block, int count)
    {
        Span<double> slot = run.Slot(form.Binding.Slot);
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
            default:
                for (int lane = 0; lane < count; lane++)
                {
                    block.Lane = lane;
                    slot[lane] = form.Binding.Law(block);
                }

                break;
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
