using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Nodes;
using Throughline.Circuits;

namespace Throughline.Benchmarks;

/// <summary>
/// Cost of an operating point against the size of the network, beside the node equations of the same network solved by NumPy and SciPy in the same run.
/// The engine carries a current for every resistor beside the node voltages, the reference only the node voltages: the reference has the smaller system.
/// </summary>
internal static class SizeComparison
{
    private const int InstrumentNodes = 35;

    private sealed record Case(string Name, int Nodes, List<double[]> Resistors, List<double[]> Sources);

    /// <summary>Prints one line for each network; 1 when an answer differs from the reference's or an aim is missed.</summary>
    public static int Run()
    {
        Case[] cases =
        [
            .. ((int[])[5, 10, 20, 50, 100, 300, 1000]).Select(Chain),
            .. ((int[])[3, 5, 7, 10, 17, 31]).Select(Mesh),
        ];
        var lines = new List<(Case Case, double Warm, double Cold, double Adjoint, double[] Voltages)>();
        foreach (Case @case in cases)
            lines.Add(Measure(@case));
        JsonArray references = Reference(cases);
        int failures = 0;
        Console.WriteLine("network      nodes  engine µs  sensitivities µs  first time µs  SciPy sparse µs    ratio  NumPy dense µs    ratio");
        for (int k = 0; k < cases.Length; k++)
        {
            (Case @case, double warm, double cold, double adjoint, double[] voltages) = lines[k];
            double sparse = (double)references[k]!["sparse"]!;
            double? dense = (double?)references[k]!["dense"];
            double ratio = sparse / warm;
            double worst = 0;
            double greatest = voltages.Max(Math.Abs);
            for (int node = 0; node < voltages.Length; node++)
                worst = Math.Max(worst, Math.Abs(voltages[node] - (double)references[k]!["voltages"]![node]!) / greatest);
            // Ten times as fast at the size of an instrument, which is that of the demos, and nowhere slower.
            double aim = @case.Nodes <= InstrumentNodes ? 10 : 1;
            string verdict = worst > 1e-9 ? $"differs by {worst:G3}" : ratio >= aim ? "" : $"aim {aim}× missed";
            failures += verdict.Length > 0 ? 1 : 0;
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{@case.Name,-12} {@case.Nodes,5}  {warm * 1e6,9:F1}  {adjoint * 1e6,16:F1}  {cold * 1e6,13:F0}  {sparse * 1e6,15:F1}  {ratio,6:F1}×  {dense * 1e6,14:F1}  {dense / warm,6:F1}{(dense is null ? ' ' : '×')}  {verdict}"));
        }

        return failures == 0 ? 0 : 1;
    }

    private static (Case Case, double Warm, double Cold, double Adjoint, double[] Voltages) Measure(Case @case)
    {
        (Network network, double[] values) = Build(@case);
        NetworkSolver solver = network.CreateSolver();
        OperatingPoint point = solver.Solve(values);
        if (point.Status != SolveStatus.Solved)
            throw new InvalidOperationException($"{@case.Name} of {@case.Nodes} nodes: {point.Trouble}");
        double[] voltages = [.. Enumerable.Range(0, @case.Nodes).Select(node => point.Voltage(new NodeId(node), new NodeId(0)))];
        double warm = Timing.Median(() => solver.Solve(values));
        var perSlot = new double[network.SlotCount];
        Probe probe = Probe.Voltage(new NodeId(@case.Nodes - 1), new NodeId(0));
        double adjoint = Timing.Median(() => solver.Sensitivities(probe, perSlot));
        // A network of its own each time, so that its elimination order is sought afresh; building it is not timed.
        var cold = new List<double>();
        for (int k = 0; k < 7; k++)
        {
            (Network fresh, _) = Build(@case);
            NetworkSolver first = fresh.CreateSolver();
            long begin = Stopwatch.GetTimestamp();
            first.Solve(values);
            cold.Add(Stopwatch.GetElapsedTime(begin).TotalSeconds);
        }

        cold.Sort();
        return (@case, warm, cold[cold.Count / 2], adjoint, voltages);
    }

    /// <summary>A ladder: series resistors with one to the return at every node.</summary>
    private static Case Chain(int nodes)
    {
        var random = new Random(nodes);
        var resistors = new List<double[]>();
        for (int node = 1; node < nodes; node++)
        {
            resistors.Add([node - 1, node, Ohms(random)]);
            resistors.Add([node, 0, 10 * Ohms(random)]);
        }

        return new Case("chain", nodes, resistors, [[nodes - 1, 1e-3]]);
    }

    /// <summary>A square grid, a corner of which is the return.</summary>
    private static Case Mesh(int side)
    {
        var random = new Random(1000 + side);
        var resistors = new List<double[]>();
        for (int row = 0; row < side; row++)
        {
            for (int column = 0; column < side; column++)
            {
                int node = (row * side) + column;
                if (column + 1 < side)
                    resistors.Add([node, node + 1, Ohms(random)]);
                if (row + 1 < side)
                    resistors.Add([node, node + side, Ohms(random)]);
            }
        }

        return new Case($"mesh {side}×{side}", side * side, resistors, [[(side * side) - 1, 1e-3]]);
    }

    private static double Ohms(Random random) => 100 * Math.Pow(1000, random.NextDouble());

    private static (Network Network, double[] Values) Build(Case @case)
    {
        var builder = new NetworkBuilder();
        NodeId[] nodes = [.. Enumerable.Range(0, @case.Nodes).Select(node => builder.Node(node.ToString(CultureInfo.InvariantCulture)))];
        builder.Return(nodes[0]);
        for (int k = 0; k < @case.Resistors.Count; k++)
            builder.Resistor($"R{k}", nodes[(int)@case.Resistors[k][0]], nodes[(int)@case.Resistors[k][1]]);
        for (int k = 0; k < @case.Sources.Count; k++)
            builder.CurrentSource($"I{k}", nodes[0], nodes[(int)@case.Sources[k][0]]);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        for (int k = 0; k < @case.Resistors.Count; k++)
            values[k] = @case.Resistors[k][2];
        for (int k = 0; k < @case.Sources.Count; k++)
            values[network.FirstSlot(new ElementId(@case.Resistors.Count + k))] = @case.Sources[k][1];
        return (network, values);
    }

    private static JsonArray Reference(Case[] cases)
    {
        static JsonArray Rows(List<double[]> rows) => new([.. rows.Select(static row => (JsonNode)new JsonArray([.. row.Select(static value => (JsonNode)value)]))]);
        var request = new JsonObject
        {
            ["networks"] = new JsonArray([.. cases.Select(@case => new JsonObject { ["nodes"] = @case.Nodes, ["resistors"] = Rows(@case.Resistors), ["sources"] = Rows(@case.Sources) })]),
        };
        return Timing.Reference("sparse.py", request);
    }
}
