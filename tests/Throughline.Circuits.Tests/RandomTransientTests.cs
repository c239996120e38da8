using System.Globalization;
using System.Text.Json.Nodes;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Motion in time against SciPy: the matrix exponential for linear networks, solve_ivp at 1e-10 for nonlinear ones.</summary>
public sealed class RandomTransientTests
{
    private static readonly TransientSettings Tight = new() { RelativeTolerance = 1e-8, VoltageTolerance = 1e-10, CurrentTolerance = 1e-13 };

    [Fact]
    public void StartUp_RandomLinearNetworks_MatchesMatrixExponential()
    {
        RandomNetwork[] networks = [.. Enumerable.Range(0, 850).Select(static seed => RandomNetwork.Create(90_000 + seed, decades: 4, isDynamic: true))];
        JsonArray expected = NumericalPython.Run("step", networks.Select(static network => network.ToJson()));
        int compared = 0;
        for (int k = 0; k < networks.Length && compared < 500; k++)
        {
            double condition = (double)expected[k]!["condition"]!;
            if (condition > 1e8)
                continue;
            compared++;
            Circuit circuit = networks[k].ToCircuit();
            Transient transient = circuit.Solver.CreateStartUp(circuit.Values, settings: Tight);
            JsonArray times = expected[k]!["times"]!.AsArray();
            for (int t = 0; t < times.Count; t++)
            {
                double[] voltages = [.. expected[k]!["voltages"]![t]!.AsArray().Select(static value => (double)value!)];
                double greatest = voltages.Max(Math.Abs);
                Assert.True(transient.AdvanceTo((double)times[t]!), $"network {k}: {transient.Trouble}");
                Conservation.Check(circuit.Network, transient.Point, 1e-12);
                for (int node = 1; node < voltages.Length; node++)
                {
                    double actual = transient.Point.Voltage(circuit.Node(RandomNetwork.Name(node)), circuit.Node("0"));
                    // A hundred times the tolerance of one step, for all steps together and nodes that follow several storages.
                    Assert.True(Math.Abs(actual - voltages[node]) <= greatest * (1e-6 + (1e-14 * condition)), $"network {k}, {times[t]} s, node {node}: {actual} for {voltages[node]}, condition {condition}");
                }
            }
        }

        Assert.True(compared >= 500, $"only {compared} networks were conditioned well enough");
    }

    [Fact]
    public void StartUp_RandomNonlinearNetworks_MatchesSolveIvp()
    {
        RandomMotion[] networks = [.. Enumerable.Range(0, 520).Select(static seed => new RandomMotion(new Random(120_000 + seed)))];
        JsonArray expected = NumericalPython.Run("motion", networks.Select(static network => network.ToJson()));
        int compared = 0;
        for (int k = 0; k < networks.Length; k++)
        {
            if (expected[k]!["voltages"] is not JsonArray rows)
                continue;
            compared++;
            Transient transient = networks[k].Start(out Circuit circuit, Tight);
            double greatest = rows.Max(static row => row!.AsArray().Max(static value => Math.Abs((double)value!)));
            for (int t = 0; t < rows.Count; t++)
            {
                Assert.True(transient.AdvanceTo(networks[k].Times[t]), $"network {k}: {transient.Trouble}");
                Conservation.Check(circuit.Network, transient.Point, 1e-12);
                for (int node = 1; node < rows[t]!.AsArray().Count; node++)
                {
                    double reference = (double)rows[t]![node]!;
                    double actual = transient.Point.Voltage(circuit.Node(RandomNetwork.Name(node)), circuit.Node("0"));
                    Assert.True(Math.Abs(actual - reference) <= 1e-6 * greatest, $"network {k}, {networks[k].Times[t]} s, node {node}: {actual} for {reference}");
                }
            }
        }

        Assert.True(compared >= 500, $"only {compared} networks have a reference");
    }

    /// <summary>Nodes with a capacitor each, joined by resistors and diodes, driven by stepped sines and by followers with a slew limit.</summary>
    private sealed class RandomMotion
    {
        private readonly double[] _capacities;
        private readonly List<double[]> _resistors = [];
        private readonly List<double[]> _sources = [];
        private readonly List<double[]> _diodes = [];
        private readonly List<double[]> _amplifiers = [];

        public RandomMotion(Random random)
        {
            double Log(double low, double high) => low * Math.Pow(high / low, random.NextDouble());
            int size = 1 + random.Next(6);
            _capacities = [.. Enumerable.Range(0, size).Select(_ => Log(1e-9, 1e-6))];
            for (int node = 1; node <= size; node++)
                _resistors.Add([node, random.Next(node), Log(100, 1e5)]);
            for (int k = random.Next(3); k > 0; k--)
                _resistors.Add([1 + random.Next(size), 0, Log(100, 1e5)]);
            double span = 1e-3;
            for (int k = 1 + random.Next(2); k > 0; k--)
            {
                double start = random.Next(2) == 0 ? 0 : span * random.NextDouble();
                _sources.Add([1 + random.Next(size), Log(100, 1e4), 10 * (random.NextDouble() - 0.5), 10 * random.NextDouble(), Log(50, 5e3), start]);
            }

            for (int k = random.Next(4); k > 0; k--)
            {
                int anode = random.Next(size + 1);
                int cathode = (anode + 1 + random.Next(size)) % (size + 1);
                _diodes.Add([anode, cathode, Log(1e-15, 1e-8), 1 + random.NextDouble()]);
            }

            for (int k = size > 1 ? random.Next(2) : 0; k > 0; k--)
            {
                int node = 1 + random.Next(size);
                int plus = 1 + ((node + random.Next(size - 1)) % size);
                _amplifiers.Add([plus, node, Log(1e3, 1e6), Log(1e4, 1e6), Log(1e3, 1e6), Log(20, 500)]);
            }

            Times = [.. ((double[])[0.05, 0.2, 0.45, 0.7, 1]).Select(share => share * span)];
        }

        public double[] Times { get; }

        public JsonObject ToJson() => new()
        {
            ["capacities"] = Array(_capacities),
            ["resistors"] = Rows(_resistors),
            ["sources"] = Rows(_sources),
            ["diodes"] = Rows(_diodes),
            ["amplifiers"] = Rows(_amplifiers),
            ["times"] = Array(Times),
        };

        public Transient Start(out Circuit circuit, TransientSettings settings)
        {
            circuit = new Circuit();
            for (int node = 1; node <= _capacities.Length; node++)
                circuit.Add("C", $"C{node}", [Name(node), "0"], _capacities[node - 1]);
            for (int k = 0; k < _resistors.Count; k++)
                circuit.Add("R", $"R{k}", [Name(_resistors[k][0]), Name(_resistors[k][1])], _resistors[k][2]);
            for (int k = 0; k < _diodes.Count; k++)
                circuit.Add("D", $"D{k}", [Name(_diodes[k][0]), Name(_diodes[k][1])], _diodes[k][2]).Set($"D{k}", _diodes[k][3], (int)DiodeSlot.Emission);
            for (int k = 0; k < _amplifiers.Count; k++)
            {
                double[] a = _amplifiers[k];
                circuit.Add("OPAMP", $"A{k}", [Name(a[0]), Name(a[1]), Name(a[1])]).Set($"A{k}", a[2]).Set($"A{k}", a[3], (int)OpAmpSlot.GainBandwidth)
                    .Set($"A{k}", a[4], (int)OpAmpSlot.SlewRate).Set($"A{k}", a[5], (int)OpAmpSlot.OutputResistance);
            }

            for (int k = 0; k < _sources.Count; k++)
                circuit.Add("V", $"V{k}", [$"s{k}", "0"], 0).Add("R", $"RS{k}", [$"s{k}", Name(_sources[k][0])], _sources[k][1]);
            Transient transient = circuit.Solver.CreateStartUp(circuit.Values, settings: settings);
            for (int k = 0; k < _sources.Count; k++)
            {
                double[] s = _sources[k];
                transient.Drive(circuit.Slot($"V{k}"), Waveform.Of(time => time < s[5] ? 0 : s[2] + (s[3] * Math.Sin(2 * Math.PI * s[4] * time)), s[5]));
            }

            return transient;
        }

        private static string Name(double node) => node.ToString(CultureInfo.InvariantCulture);

        private static JsonArray Array(double[] values) => new([.. values.Select(static value => (JsonNode)value)]);

        private static JsonArray Rows(List<double[]> rows) => new([.. rows.Select(static row => (JsonNode)Array(row))]);
    }
}
