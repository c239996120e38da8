using Xunit;

namespace Throughline.Instruments.Tests.Parts;

public class PartTests
{
    [Theory] // what a part is written as, and the elements that it consists of
    [InlineData("{ resistor: 4k7 ±1 %, between: [a, b] }", "resistor X a b 4700")]
    [InlineData("{ leakage: 100 GΩ min, between: [a, b] }", "resistor X a b 1E+11")]
    [InlineData("{ capacitor: 100n, between: [a, b] }", "capacitor X a b 1E-07")]
    [InlineData("{ capacitor: 1 µF, between: [a, b], leakage: 1 GΩ }", "capacitor X a b 1E-06", "resistor X.leakage a b 1E+09")]
    [InlineData("{ inductor: 10 µH, between: [a, b] }", "inductor X a b 1E-05")]
    [InlineData("{ inductor: 10 µH, between: [a, b], resistance: 2 Ω }", "resistor X.resistance a X.inner 2", "inductor X X.inner b 1E-05")]
    [InlineData("{ trimmer: 2 kΩ, between: [a, b] }", "resistor X a b 500")]
    [InlineData("{ trimmer: 2 kΩ, ends: [a, b], wiper: w }", "resistor X.first a w 500", "resistor X.second w b 1500")]
    [InlineData("{ reference: 2.5 V ±0.1 %, between: [a, b] }", "voltage X a b 2.5")]
    [InlineData("{ voltage: -3 mV, between: [a, b] }", "voltage X a b -0.003")]
    [InlineData("{ current: 1 mA, from: a, to: b }", "current X a b 0.001")]
    [InlineData("{ switch: open, between: [a, b] }", "resistor X a b 1E+10")]
    [InlineData("{ switch: closed, between: [a, b] }", "resistor X a b 0.1")]
    [InlineData("{ switch: closed, between: [a, b], on: 50 Ω }", "resistor X a b 50")]
    [InlineData("{ jumper: test, positions: { run: [a, b], test: [a, c] } }", "link X a c")]
    [InlineData("{ link: [a, b] }", "link X a b")]
    [InlineData("{ op amp: zero drift, plus: a, minus: b, out: c, supply: [p, n] }", "op amp X a b c p n")]
    [InlineData("{ instrumentation amplifier: precision, gain: 100, plus: a, minus: b, out: c, reference: r, supply: [p, n] }", "instrumentation amplifier X a b c r p n 100")]
    [InlineData("{ isolation amplifier: capacitive, gain: 1, input: [a, b], output: [c, d] }", "isolation amplifier X a b c d 1")]
    [InlineData("{ diode: small signal, anode: a, cathode: b }", "diode X a b")]
    [InlineData("{ zener: 5.1 V ±5 %, anode: a, cathode: b }", "diode X a b")]
    [InlineData("{ transistor: npn small signal, collector: c, base: b, emitter: e }", "npn X c b e")]
    [InlineData("{ transistor: pnp small signal, collector: c, base: b, emitter: e }", "pnp X c b e")]
    [InlineData("{ block: divider, in: a, out: b, common: c, upper: 1k, lower: 3k }", "resistor X.R1 a b 1000", "resistor X.R2 b c 3000")]
    [InlineData(
        "{ block: non-inverting amplifier, in: a, out: b, common: c, positive: p, negative: n, amplifier: zero drift, feedback: 9k, ground: 1k }",
        "op amp X.U1 a X.fb b p n", "resistor X.R1 b X.fb 9000", "resistor X.R2 X.fb c 1000")]
    public void Describe_OnePart_SaysItsElements(string part, params string[] elements) =>
        Assert.Equal(elements, Describe(part, new FixedState()).Lines);

    [Fact] // a bias current that doubles every 10 K is four times as large at 45 °C; the offset current splits evenly
    public void OpAmp_BiasCurrent_DoublesAndSplits()
    {
        const string part = "{ op amp: { bias current: 10 pA typ 40 pA max, bias doubles every: 10 K, offset current: 4 pA max }, plus: a, minus: b, out: c, supply: [p, n] }";
        FixedState warm = new() { AmbientCelsius = 45 };
        warm.Set["offset current"] = 4e-12;
        OpAmpLaws laws = Describe(part, warm).LastOpAmp!;
        Assert.Equal(4 * 12e-12, laws.BiasPlus!(warm), 1e-20);
        Assert.Equal(4 * 8e-12, laws.BiasMinus!(warm), 1e-20);
    }

    [Theory] // nominal, least and greatest
    [InlineData("bias current: 65 pA typ 400 pA max", "bias current", 65e-12, -400e-12, 400e-12)]
    [InlineData("bias current: 400 pA max", "bias current", 0, -400e-12, 400e-12)]
    [InlineData("bias current: 20 .. 80 nA", "bias current", 50e-9, 20e-9, 80e-9)]
    [InlineData("bias current: 0 A", "bias current", 0, 0, 0)]
    [InlineData("offset: ±7 mV ±20 µV/K", "offset", 0, -7e-3, 7e-3)]
    [InlineData("offset: 2 mV typ 7 mV max", "offset", 0, -7e-3, 7e-3)]
    [InlineData("offset: 7 mV max", "offset", 0, -7e-3, 7e-3)]
    [InlineData("gain: 100 dB typ 80 dB min", "open-loop gain", 1e5, 1e4, 1e5)]
    [InlineData("common-mode rejection: 100 dB typ 80 dB min", "common-mode error", 0, -1e-4, 1e-4)]
    [InlineData("supply rejection: 60 dB min", "supply error", 0, -1e-3, 1e-3)]
    [InlineData("output swing: { below positive: 1 V typ 2 V max }", "output swing below positive", 1, 1, 2)]
    [InlineData("output current: 5 mA min", "output current", 5e-3, 5e-3, 5e-3)]
    public void OpAmp_FiguresOfADataSheet_BecomeParameters(string figures, string parameter, double value, double low, double high)
    {
        Part part = Read($"{{ op amp: {{ {figures} }}, plus: a, minus: b, out: c, supply: [p, n] }}").Single();
        Quantity quantity = part.Parameters.Single(p => p.Name == parameter).Quantity;
        double rounding = Math.Abs(high) * 1e-12;
        Assert.Equal(value, quantity.Value, rounding);
        Assert.Equal(low, quantity.Low, rounding);
        Assert.Equal(high, quantity.High, rounding);
    }

    [Fact] // what a grade leaves out is ideal
    public void OpAmp_EmptyGrade_IsIdeal()
    {
        OpAmpLaws laws = Describe("{ op amp: {}, plus: a, minus: b, out: c, supply: [p, n] }", new FixedState()).LastOpAmp!;
        Assert.Equal(new OpAmpLaws(), laws);
    }

    [Fact]
    public void InstrumentationAmplifier_GainError_ScalesTheGain()
    {
        FixedState state = new();
        state.Set["gain error"] = 0.001;
        InstrumentationAmplifierLaws laws = Describe(
            "{ instrumentation amplifier: precision, gain: 40 dB, plus: a, minus: b, out: c, reference: r, supply: [p, n] }", state).LastInstrumentationAmplifier!;
        Assert.Equal(100.1, laws.Gain(state), 1e-10);
    }

    [Fact]
    public void IsolationAmplifier_Barrier_HasItsSides()
    {
        IsolationAmplifier part = Assert.IsType<IsolationAmplifier>(Read("{ isolation amplifier: capacitive, gain: 1, input: [a, b], output: [c, d] }").Single());
        Assert.Equal(["a", "b"], part.FirstSide.Select(t => t.Node.Value));
        Assert.Equal(1500, part.Withstands!.Value);
    }

    [Fact] // The forward voltage of a silicon junction falls by about 2 mV/K at constant current: common practice, no source
    public void Diode_SaturationCurrent_FollowsTemperature()
    {
        double Forward(double celsius)
        {
            FixedState state = new() { AmbientCelsius = celsius };
            DiodeLaws laws = Describe("{ diode: { saturation current: 10 fA }, anode: a, cathode: b }", state).LastDiode!;
            return 8.617333e-5 * (celsius + 273.15) * laws.Emission(state) * Math.Log(1e-3 / laws.SaturationCurrent(state));
        }

        Assert.InRange(Forward(26) - Forward(25), -2.5e-3, -1.5e-3);
    }

    [Fact]
    public void Zener_Breakdown_IsItsVoltage()
    {
        FixedState state = new();
        Assert.Equal(5.1, Describe("{ zener: 5.1 V ±5 %, anode: a, cathode: b }", state).LastDiode!.Breakdown!(state));
    }

    [Fact]
    public void Trimmer_AtItsEnd_KeepsAContact()
    {
        RecordingSink sink = new(new FixedState());
        Read("{ trimmer: 2 kΩ, ends: [a, b], wiper: w }").Single().Describe(sink, new FixedSettings(1));
        Assert.Equal(["resistor X.first a w 2000", "resistor X.second w b 0.001"], sink.Lines);
    }

    [Fact]
    public void Block_InsideABlock_IsPutIn()
    {
        const string library = """
            blocks:
              two poles:
                terminals: [in, out, common]
                values: { R: Ω, C: F }
                parts:
                  A: { block: rc filter, in: in, out: middle, common: common, R: =R, C: =C }
                  B: { block: rc filter, in: middle, out: out, common: common, R: =R, C: =C }
            """;
        RecordingSink sink = new(new FixedState());
        foreach (Part part in Read("{ block: two poles, in: a, out: b, common: c, R: 1k, C: 1n }", library))
        {
            part.Describe(sink, new FixedSettings(0.5));
        }

        Assert.Equal(
            ["resistor X.A.R1 a X.middle 1000", "capacitor X.A.C1 X.middle c 1E-09", "resistor X.B.R1 X.middle b 1000", "capacitor X.B.C1 b c 1E-09"], sink.Lines);
    }

    [Theory]
    [InlineData("blocks: { x: { terminals: [a], parts: { B: { block: x, a: a } } } }", "recursion")]
    [InlineData("blocks: { x: { terminals: [a], parts: { B: { block: y, b: a } } }, y: { terminals: [b], parts: { B: { block: x, a: b } } } }", "recursion")]
    [InlineData("blocks: { x: { terminals: [a], values: { R: Ω }, parts: { B: { resistor: =Q, between: [a, b] } } } }", "missing", "wrong kind of quantity")]
    public void Block_ThatCannotBe_IsReportedAtTheInstance(string library, params string[] codes)
    {
        DiagnosticSink sink = new();
        Read("{ block: x, a: a }", library, sink);
        Assert.NotEmpty(sink.ToSorted());
        Assert.All(sink.ToSorted(), d => Assert.Contains(d.Code, codes));
        Assert.All(sink.ToSorted(), d => Assert.Equal("part.yaml", d.Span.Source!.Name));
    }

    [Fact] // ten blocks inside ten blocks, five levels deep
    public void Block_ThatMultiplies_IsBounded()
    {
        List<string> blocks = ["b0: { terminals: [a], parts: { R: { resistor: 1k, between: [a, b] } } }"];
        for (int level = 1; level <= 5; level++)
        {
            string inner = string.Join(", ", Enumerable.Range(0, 10).Select(i => $"P{i}: {{ block: b{level - 1}, a: a }}"));
            blocks.Add($"b{level}: {{ terminals: [a], parts: {{ {inner} }} }}");
        }

        DiagnosticSink sink = new();
        List<Part> parts = Read("{ block: b5, a: a }", "blocks:\n  " + string.Join("\n  ", blocks), sink);
        Assert.InRange(parts.Count, 1, Block.MostParts + 1);
        Assert.Contains(sink.ToSorted(), d => d.Code == "recursion");
    }

    [Fact]
    public void GenericLibrary_EveryGrade_MakesAPart()
    {
        (string Kind, string Terminals)[] kinds =
        [
            ("op amp", "plus: a, minus: b, out: c, supply: [p, n]"),
            ("instrumentation amplifier", "gain: 10, plus: a, minus: b, out: c, reference: r, supply: [p, n]"),
            ("isolation amplifier", "gain: 1, input: [a, b], output: [c, d]"),
            ("diode", "anode: a, cathode: b"),
            ("transistor", "collector: c, base: b, emitter: e"),
        ];
        int made = 0;
        foreach ((string kind, string terminals) in kinds)
        {
            foreach (string grade in PartsLibrary.Generic.GradeNames(kind))
            {
                made += Read($"{{ {kind}: {grade}, {terminals} }}").Count;
            }
        }

        Assert.True(made >= 16);
    }

    private static RecordingSink Describe(string part, IUnitState state)
    {
        RecordingSink sink = new(state);
        foreach (Part read in Read(part))
        {
            read.Describe(sink, new FixedSettings(0.25));
        }

        return sink;
    }

    private static List<Part> Read(string part, string? library = null, DiagnosticSink? sink = null)
    {
        DiagnosticSink found = sink ?? new DiagnosticSink();
        PartsLibrary parts = PartsLibrary.Generic;
        if (library is not null)
        {
            parts = parts.With(YamlReader.Read(new SourceText("parts.yaml", library), found)!, found);
            Assert.Empty(found.ToSorted());
        }

        MapNode map = (MapNode)YamlReader.Read(new SourceText("part.yaml", "X: " + part), found)!;
        PartKinds.Shape.Check(map["X"]!, new ShapeContext(found));
        List<Part> read = [];
        PartReader.Read(map, new ReadingContext(found) { Library = parts }, BlockScope.Root, [], read, []);
        if (sink is null)
        {
            Assert.Empty(found.ToSorted().Select(d => d.Message));
        }

        return read;
    }
}
