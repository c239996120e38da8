using Throughline.Circuits;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>
/// Those of the 67 electrochemical cases that are circuits, built from the sensor's own elements and solved: femtoampere over gigohm, dividers, followers,
/// leakage over boards. The tables are those of <see cref="ElectrochemicalCasesTests"/>.
/// </summary>
public class ElectrochemicalNetworksTests
{
    private static readonly PublishedTable Cases = PublishedTable.Read("electrochemistry", "electrochemistry-circuits.csv");

    public static TheoryData<string> Ids =>
    [
        "N4", "N6", "T1", "T2", "T3", "B1", "B2", "B3", "B4", "B5", "B6", "B7", "B8", "A1", "A2", "A3", "A4", "A5", "A6", "G1", "G4", "P1", "P2", "P3", "Z1", "Z2",
    ];

    [Theory]
    [MemberData(nameof(Ids))]
    public void Case_SolvedAsANetwork_GivesTheRecomputedAnswer(string id)
    {
        PublishedRow row = Cases.Rows.Single(r => r["id"] == id);
        double answer = Solve(id);
        Assert.Equal(row.Number("recomputed"), answer, row.HalfDigit("recomputed") + 1e-6 * Math.Abs(answer));
    }

    private static double Solve(string id) => id switch
    {
        // An ideal electrode against its reference, read without load.
        "N4" => -1000 * Electrode(14, 25, 0, b => { })("probe"),
        "N6" => 1000 * Electrode(0, 80, 0, b => { })("probe"),

        // 210 µA through a Pt1000, and through 5 kΩ.
        "T1" => 1000 * Platinum(0, 210e-6),
        "T2" => 1000 * Platinum(100, 210e-6),
        "T3" => 1000 * Circuit(b =>
        {
            b.Resistor("R", "a", "0V", _ => 5e3);
            b.CurrentSource("I", "0V", "a", _ => 210e-6);
        })("a"),

        // Bias current through an electrode of 1 GΩ at its zero.
        "B1" => Bias(1e-12, 1000),
        "B2" => Bias(0.2e-12, 1000),
        "B3" => Bias(20e-15, 1e6),
        "B4" => Bias(900e-15, 1000),
        "B5" => Bias(125e-15, 1000),
        "B6" => Bias(445e-15, 1000),
        "B7" => Bias(25e-15, 1000),
        "B8" => Bias(2e-12, 1000),

        // Half of 1.024 V, followed, carries the electrode.
        "A1" => 1000 * OnHalf(7, 25)("half"),
        "A2" => 1000 * OnHalf(0, 25)("out"),
        "A3" => 1000 * OnHalf(14, 25)("out"),
        "A4" => 1000 * OnHalf(14, 100)("out"),

        // 1.024 V − 2 V_pH: the electrode against ground, inverted twice as large about 1.024 V behind a follower.
        "A5" => 1000 * Inverted(4),
        "A6" => 1000 * Inverted(10),

        // Three amplifiers with 25 kΩ each side of RG.
        "G1" => InstrumentationGain(25e3, 5.62e3),
        "G4" => -1000 * BiasBehindGain(),

        // 5 V over a board, as a current into a node held at 0 V by 1 Ω.
        "P1" => 1e12 * Leakage(5, 1e12, 1),
        "P2" => 1e12 * Leakage(5, 1e11, 1),
        "P3" => 1e12 * Leakage(0.005, 1e11, 1),
        "Z1" => 100 * (1 - Loaded(100e6, 100e8)),
        "Z2" => 100 * (1 - Loaded(100e6, 100e9)),
        _ => throw new ArgumentOutOfRangeException(nameof(id), id, "No circuit."),
    };

    private static Located<string> Node(string name) => new(name, default);

    private static Parameter Exact(Dimension dimension, double value) => new("sensor", "value", Quantity.Exact(dimension, value));

    private static GlassElectrode Glass(double ohms) => new()
    {
        Zero = Exact(Dimension.Acidity, 7),
        Slope = Exact(Dimension.Ratio, 1),
        Isopotential = Exact(Dimension.Acidity, 7),
        Resistance = Exact(Dimension.Resistance, ohms),
        HalvesEvery = Exact(Dimension.TemperatureDifference, double.PositiveInfinity),
        Plus = Node("probe"),
        Minus = Node("0V"),
    };

    private static Func<string, double> Circuit(Action<NetworkSink> build, IUnitState? state = null)
    {
        NetworkBuilder builder = new();
        NetworkSink sink = new(builder);
        builder.Return(builder.Node("0V"));
        build(sink);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        state ??= new Still(7, 25);
        foreach ((ElementId element, int offset, Law law) in sink.Laws)
        {
            values[network.FirstSlot(element) + offset] = law(state);
        }

        OperatingPoint point = network.CreateSolver().Solve(values);
        Assert.Equal(SolveStatus.Solved, point.Status);
        return name => point.Voltage(network.FindNode(name)!.Value) - point.Voltage(network.FindNode("0V")!.Value);
    }

    private static Func<string, double> Electrode(double ph, double celsius, double ohms, Action<NetworkSink> more) => Circuit(
        b =>
        {
            Glass(ohms).Describe(b);
            more(b);
        },
        new Still(ph, celsius));

    private static double Bias(double amperes, double scale) =>
        scale * Electrode(7, 25, 1e9, b => b.CurrentSource("bias", "0V", "probe", _ => amperes))("probe");

    private static double Loaded(double sourceOhms, double inputOhms) =>
        Electrode(4, 25, sourceOhms, b => b.Resistor("input", "probe", "0V", _ => inputOhms))("probe") / Electrode(4, 25, sourceOhms, _ => { })("probe");

    private static double Platinum(double celsius, double amperes)
    {
        PlatinumSensor sensor = new() { NominalOhms = 1000, Leads = [Node("a"), Node("0V")] };
        return Circuit(
            b =>
            {
                sensor.Describe(b);
                b.CurrentSource("I", "0V", "a", _ => amperes);
            },
            new Still(celsius, 25))("a");
    }

    private static void Supplies(NetworkSink b)
    {
        b.VoltageSource("P", "+5", "0V", _ => 5);
        b.VoltageSource("N", "-5", "0V", _ => -5);
    }

    private static void Ideal(NetworkSink b, string name, string plus, string minus, string output) => b.OpAmp(name, plus, minus, output, "+5", "-5", new OpAmpLaws());

    private static Func<string, double> OnHalf(double ph, double celsius) => Circuit(
        b =>
        {
            Supplies(b);
            b.VoltageSource("VREF", "ref", "0V", _ => 1.024);
            b.Resistor("R1", "ref", "divided", _ => 10e3);
            b.Resistor("R2", "divided", "0V", _ => 10e3);
            Ideal(b, "U1", "divided", "half", "half");
            (Glass(100e6) with { Minus = Node("half") }).Describe(b);
            Ideal(b, "U2", "probe", "out", "out");
        },
        new Still(ph, celsius));

    private static double Inverted(double ph) => Circuit(
        b =>
        {
            Supplies(b);
            Glass(100e6).Describe(b);
            Ideal(b, "U1", "probe", "followed", "followed");
            b.VoltageSource("VREF", "ref", "0V", _ => 1.024);

            // (1 + 2) V+ − 2 V_pH is 1.024 V − 2 V_pH with V+ a third of it.
            b.Resistor("R3", "ref", "third", _ => 20e3);
            b.Resistor("R4", "third", "0V", _ => 10e3);
            b.Resistor("R1", "followed", "minus", _ => 10e3);
            b.Resistor("R2", "minus", "out", _ => 20e3);
            Ideal(b, "U2", "third", "minus", "out");
        },
        new Still(ph, 25))("out");

    private static double InstrumentationGain(double feedback, double gainResistor)
    {
        var v = Circuit(b =>
        {
            Supplies(b);
            b.VoltageSource("V1", "a", "0V", _ => 0.05);
            b.VoltageSource("V2", "b", "0V", _ => -0.05);
            b.Resistor("RG", "ga", "gb", _ => gainResistor);
            b.Resistor("R1", "ga", "oa", _ => feedback);
            b.Resistor("R2", "gb", "ob", _ => feedback);
            Ideal(b, "U1", "a", "ga", "oa");
            Ideal(b, "U2", "b", "gb", "ob");
            foreach ((string name, string from, string to) in new[] { ("R3", "ob", "minus"), ("R4", "minus", "out"), ("R5", "oa", "plus"), ("R6", "plus", "0V") })
            {
                b.Resistor(name, from, to, _ => 10e3);
            }

            Ideal(b, "U3", "plus", "minus", "out");
        });
        return v("out") / 0.1;
    }

    private static double BiasBehindGain() => Electrode(
        7,
        25,
        100e6,
        b =>
        {
            Supplies(b);
            b.OpAmp("U1", "probe", "minus", "out", "+5", "-5", new OpAmpLaws { BiasPlus = _ => 4e-12 });
            b.Resistor("R1", "minus", "0V", _ => 10e3);
            b.Resistor("R2", "minus", "out", _ => 20e3);
        })("out");

    // The current over the board into a resistance to ground, by the voltage there.
    private static double Leakage(double volts, double boardOhms, double groundOhms) => Circuit(b =>
    {
        b.VoltageSource("V", "track", "0V", _ => volts);
        b.Resistor("board", "track", "node", _ => boardOhms);
        b.Resistor("ground", "node", "0V", _ => groundOhms);
    })("node") / groundOhms;

    /// <summary>A unit with every parameter at its nominal value.</summary>
    private sealed record Still(double Measurand, double ProcessCelsius) : IUnitState
    {
        public double AmbientCelsius => 25;

        public double AgeSeconds => 0;

        public double Value(Parameter parameter) => parameter.Quantity.Value;
    }
}
