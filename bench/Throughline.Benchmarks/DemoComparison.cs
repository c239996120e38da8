using System.Globalization;
using System.Numerics;
using System.Text.Json.Nodes;
using Throughline.Analysis;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>
/// The equations of each demo, sensor to output, beside NumPy and SciPy in the same run. The reference is handed the finished matrices: it only solves them,
/// as often as the engine's Newton iteration does, while the engine's times hold the parts' laws, limits, tests of convergence and every derivative too.
/// </summary>
internal static class DemoComparison
{
    private const int Frequencies = 200;
    private const double FromHertz = 0.1;
    private const double ToHertz = 1e5;

    private sealed record Case(string Demo, int Nodes, int Unknowns, double[] Engine, Complex[] Transfers, double Noise, JsonObject Request);

    /// <summary>Prints four lines for each demo; 1 when an answer differs from the reference's or less than ten times its speed is reached.</summary>
    public static int Run()
    {
        // The first is measured twice: what is still being compiled would count against it.
        _ = Measure(CheckBenchmarks.Demos.First());
        Case[] cases = [.. CheckBenchmarks.Demos.Select(Measure)];
        JsonArray references = Timing.Reference("demos.py", new JsonObject { ["demos"] = new JsonArray([.. cases.Select(@case => @case.Request)]) });
        string[] names = ["operating point", "with sensitivities", $"AC, {Frequencies} points", "noise"];
        int failures = 0;
        Console.WriteLine();
        Console.WriteLine("demo                nodes  equations  what                engine µs  SciPy sparse µs    ratio  NumPy dense µs    ratio");
        for (int k = 0; k < cases.Length; k++)
        {
            Case @case = cases[k];
            JsonNode reference = references[k]!;
            double greatest = @case.Transfers.Max(Complex.Abs);
            double noise = Math.Abs(((double)reference["noise"]! / @case.Noise) - 1);
            double worst = 0;
            for (int f = 0; f < Frequencies; f++)
                worst = Math.Max(worst, Complex.Abs(@case.Transfers[f] - new Complex((double)reference["real"]![f]!, (double)reference["imaginary"]![f]!)) / greatest);
            for (int what = 0; what < names.Length; what++)
            {
                double sparse = (double)reference["sparse"]![what]!;
                double dense = (double)reference["dense"]![what]!;
                double engine = @case.Engine[what];
                string verdict = worst > 1e-9 ? $"response differs by {worst:G3}" : noise > 1e-5 ? $"noise differs by {noise:G3}" : sparse / engine >= 10 ? "" : "aim 10× missed";
                failures += verdict.Length > 0 ? 1 : 0;
                Console.WriteLine(string.Create(
                    CultureInfo.InvariantCulture,
                    $"{@case.Demo,-18}  {@case.Nodes,5}  {@case.Unknowns,9}  {names[what],-18}  {engine * 1e6,9:F1}  {sparse * 1e6,15:F1}  {sparse / engine,6:F1}×  {dense * 1e6,14:F1}  {dense / engine,6:F1}×  {verdict}"));
            }
        }

        return failures == 0 ? 0 : 1;
    }

    private static Case Measure(string demo)
    {
        string folder = Path.Combine(CheckBenchmarks.Root(), "demo", demo);
        string file = Path.Combine(folder, "instrument.yaml");
        var evaluator = new Evaluator(Model.Compile(InstrumentReader.ReadText(file, File.ReadAllText(file), folder).Value!));
        UnitState state = evaluator.NewState();
        state.Measurand = evaluator.Instrument.Specification.Range.Middle;
        evaluator.Chain(state);
        BoundNetwork bound = evaluator.Field.Bound;
        Network network = bound.Network;
        double[] values = network.CreateValues();
        foreach (Binding binding in bound.Bindings)
            values[binding.Slot] = binding.Law(state);
        double kelvin = state.AmbientCelsius + 273.15;
        NetworkSolver solver = network.CreateSolver();
        OperatingPoint point = solver.Solve(values, kelvin);
        if (point.Status != SolveStatus.Solved)
            throw new InvalidOperationException($"{demo} has no operating point: {point.Trouble}");
        int iterations = point.Iterations;
        NodeId output = bound.Amplifiers.LastOrDefault() is { } amplifier ? network.Pins(amplifier.Element)[2]!.Value : new NodeId(network.NodeCount - 1);
        Probe probe = Probe.Voltage(output, bound.ReturnOf(output) ?? new NodeId(0));
        Element source = network.Elements.First(element => element.Kind == "voltage source");
        double[] hertz = [.. Enumerable.Range(0, Frequencies).Select(k => 0.01 * Math.Pow(1e8, k / (Frequencies - 1.0)))];
        var perSlot = new double[network.SlotCount];
        var transfers = new Complex[network.SlotCount];
        var ofSource = new Complex[Frequencies];
        double noise = 0;
        double[] engine =
        [
            Timing.Median(() => solver.Solve(values, kelvin)),
            Timing.Median(() =>
            {
                solver.Solve(values, kelvin);
                solver.Sensitivities(probe, perSlot);
            }),
            Timing.Median(() =>
            {
                SmallSignal signal = solver.Linearise();
                for (int k = 0; k < Frequencies; k++)
                {
                    signal.Transfers(probe, hertz[k], transfers);
                    ofSource[k] = transfers[source.FirstSlot];
                }
            }),
            Timing.Median(() => noise = solver.Linearise().Noise(probe, FromHertz, ToHertz, relativeTolerance: 1e-6).Value),
        ];
        SmallSignal about = solver.Linearise();
        int unknowns = network.UnknownCount;
        var gradient = new double[unknowns + 1];
        gradient[network.UnknownOfNode[probe.Plus.Index]] += 1;
        gradient[network.UnknownOfNode[probe.Minus.Index]] -= 1;
        return new Case(demo, network.NodeCount, unknowns, engine, ofSource, noise, new JsonObject
        {
            ["starts"] = Timing.Numbers(network.Pattern.RowStart),
            ["columns"] = Timing.Numbers(network.Pattern.Columns),
            ["static"] = Timing.Numbers(about.Static[..network.Pattern.EntryCount]),
            ["dynamic"] = Timing.Numbers(about.Dynamic[..network.Pattern.EntryCount]),
            ["gradient"] = Timing.Numbers(gradient[..unknowns]),
            ["iterations"] = iterations,
            ["source"] = source.Branch,
            ["hertz"] = Timing.Numbers(hertz),
            ["band"] = Timing.Numbers([FromHertz, ToHertz]),
            ["noise"] = new JsonArray([.. about.NoiseSources.Select(each => new JsonObject
            {
                ["density"] = each.Density,
                ["corner"] = each.Corner,
                ["unknowns"] = Timing.Numbers(each.Equations.Select(equation => equation.Unknown).ToArray()),
                ["weights"] = Timing.Numbers(each.Equations.Select(equation => equation.Weight).ToArray()),
            })]),
        });
    }
}
