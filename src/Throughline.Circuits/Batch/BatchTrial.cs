namespace Throughline.Circuits;

/// <summary>Tries a program on a few units beside the scalar solver: the order that is best for speed may cost small currents beside great ones their digits.</summary>
internal static class BatchTrial
{
    private const double Spread = 0.05;

    /// <summary>Beside the greatest voltage or current, a reading this much smaller is held to the digits of this much.</summary>
    private const double Floor = 1e-3;

    /// <summary>How many of the units settle, and the worst relative error of their readings.</summary>
    public static (int Settled, double Worst) Run(BatchProgram program, OperatingPoint nominal, Probe[] probes, BatchSlots slots)
    {
        BatchRun run = program.CreateRun(BatchProgram.LaneMultiple, isCompiled: false);
        int[] varying = [.. slots.Fixed, .. slots.Changing, .. slots.Sources];
        Workspace w = nominal.Workspace;
        // Any fixed spread will do: a walk by the golden ratio.
        double walk = 0;
        foreach (int slot in varying)
        {
            Span<double> values = run.Slot(slot);
            for (int lane = 0; lane < values.Length; lane++)
            {
                walk = (walk + 0.6180339887498949) % 1;
                values[lane] = w.Values[slot] * (1 + (Spread * ((2 * walk) - 1)));
            }
        }

        run.Prepare();
        run.Solve();
        NetworkSolver solver = program.Network.CreateSolver();
        for (int element = 0; element < program.Network.ElementCount; element++)
            solver.SetTemperatureRise(new ElementId(element), w.Rises[element] / NetworkSolver.BoltzmannOverCharge);
        double[] unit = [.. w.Values];
        int settled = 0;
        double worst = 0;
        for (int lane = 0; lane < run.Lanes; lane++)
        {
            foreach (int slot in varying)
                unit[slot] = run.Slot(slot)[lane];
            if (!run.IsSettled(lane))
                continue;
            OperatingPoint point = solver.Solve(unit, w.ThermalVoltage / NetworkSolver.BoltzmannOverCharge);
            if (point.Status != SolveStatus.Solved)
                continue;
            double volts = Enumerable.Range(0, program.Network.NodeCount).Max(node => Math.Abs(point.Voltage(new NodeId(node))));
            double amperes = probes.Where(static probe => probe.IsCurrent).Select(probe => Math.Abs(point.Current(probe.Element))).DefaultIfEmpty().Max();
            settled++;
            for (int probe = 0; probe < probes.Length; probe++)
            {
                bool isCurrent = probes[probe].IsCurrent;
                double expected = isCurrent ? point.Current(probes[probe].Element) : point.Voltage(probes[probe].Plus, probes[probe].Minus);
                double size = Math.Abs(expected) + (Floor * (isCurrent ? amperes : volts));
                if (size > 0)
                    worst = Math.Max(worst, Math.Abs(run.Reading(probe)[lane] - expected) / size);
            }
        }

        return (settled, worst);
    }
}
