using Xunit;

namespace Throughline.Instruments.Tests.Reading;

public class InstrumentReaderTests
{
    [Fact]
    public void ReadText_ASoundFile_GivesTheWholeInstrument()
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText("small.yaml", Samples.Small);
        Assert.Empty(parsed.Diagnostics);
        Instrument instrument = parsed.Value!;
        Assert.Equal("Pressure transmitter", instrument.Name.Value);
        Assert.Equal("2", instrument.Revision?.Value);

        Specification specification = instrument.Specification;
        Assert.Equal(("kPa", Dimension.Pressure, 1000.0), (specification.Unit, specification.Dimension, specification.UnitFactor));
        Assert.Equal((0.0, 100.0), (specification.Range.Low, specification.Range.High));
        Assert.Equal(0.1, specification.DisplayStep!.Value, 1e-15);
        Assert.Equal(0.5, specification.DisplayError!.Absolute(100));
        Assert.Equal(0.6, specification.LoopError!.Absolute(100), 1e-12);
        Assert.Equal((5.0, 45.0), (specification.Ambient.Low, specification.Ambient.High));
        Assert.Equal((25.0, 25.0), (specification.Process.Low, specification.Process.High));
        Assert.Equal(30 * 86400.0, specification.CalibrationInterval!.Value);

        Assert.Equal(["input", "A5", "L15"], instrument.Supplies.Select(s => s.Name.Value));
        Assert.Equal(["0V", "0V", "L0"], instrument.Supplies.Select(s => s.Return.Value));

        Assert.Equal(["input", "reading", "arithmetic", "writing", "output"], instrument.Stages.Select(s => s.Name.Value));
        CircuitStage input = Assert.IsType<CircuitStage>(instrument.Stages[0]);
        Assert.Equal(["U1", "R1", "VR1", "R2", "F1.R1", "F1.C1", "J1"], input.Parts.Select(p => p.Name.Value));
        Assert.Equal(2.249, input.Intent[1].To.Low, 1e-12);
        Assert.Equal("0V", input.TestPoints[1].Return?.Value);

        ConverterStage reading = Assert.IsType<ConverterStage>(instrument.Stages[1]);
        Assert.Equal((12, 64, false), (reading.Bits, reading.Average, reading.Bipolar));
        Assert.Equal((0.0, -10e-9, 10e-9), (reading.InputCurrent!.Quantity.Value, reading.InputCurrent.Quantity.Low, reading.InputCurrent.Quantity.High));
        Assert.Equal(double.NegativeInfinity, reading.Absolute!.Low);

        ArithmeticStage arithmetic = Assert.IsType<ArithmeticStage>(instrument.Stages[2]);
        Assert.Equal(Compensation.Fixed, arithmetic.Compensation);
        Assert.Equal((Dimension.Ratio, 409.0, 0.5), (arithmetic.Scaling[0].From.Dimension, arithmetic.Scaling[0].From.Value, arithmetic.Scaling[0].To.Value));

        Assert.Equal(2500, Assert.IsType<OutputConverterStage>(instrument.Stages[3]).Link!.Withstands!.Value);
        Assert.Equal((100.0, 0.020), (instrument.Loop!.Scale[1].From.Value, instrument.Loop.Scale[1].To.Value));
        Assert.Equal(Dimension.Voltage, instrument.Calibration!.AcceptZero!.Dimension);
        Assert.Equal("VR1", instrument.Adjustment[0].Turn.Value);
        Assert.Equal(4.5, instrument.Adjustment[0].MeterDigits);
        Assert.Equal(100e3, instrument.Memory!.Endurance!.Value);
        Assert.Equal((20, 4, 4), (instrument.Panel!.Columns, instrument.Panel.Rows, instrument.Panel.Keys));
    }

    [Fact] // Every quantity of the model shows the characters that it came from
    public void ReadText_ASoundFile_KnowsThePlaceOfEveryValue()
    {
        Instrument instrument = InstrumentReader.ReadText("small.yaml", Samples.Small).Value!;
        foreach (Parameter parameter in instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts).SelectMany(p => p.Parameters))
        {
            if (parameter.Quantity.Span.Source == instrument.Source)
            {
                Assert.Equal(parameter.Quantity.Text, parameter.Quantity.Span.Text);
            }
        }

        Resistor inBlock = Assert.IsType<Resistor>(((CircuitStage)instrument.Stages[0]).Parts[4]);
        Assert.Equal("10 kΩ ±1 %", inBlock.Resistance.Quantity.Span.Text);
    }

    public static TheoryData<string> Files() => [.. Samples.Files];

    [Theory]
    [MemberData(nameof(Files))]
    public void ReadFile_FilesOfTheRepository_HaveNoMistake(string path) =>
        Assert.Empty(InstrumentReader.ReadFile(path).Diagnostics.Select(d => $"{d.Span} {d.Message}"));

    [Fact]
    public void ReadText_SeveralMistakes_AreAllFoundInOneRunAndSorted()
    {
        string text = Samples.Small.Replace("resistor: 4k7", "resitor: 4k7", StringComparison.Ordinal)
            .Replace("bits: 12, reference: 2.5 V ±0.2 %", "bits: 99, reference: 2.5 V ±120 %", StringComparison.Ordinal)
            .Replace("cmos low bias", "cmos low bais", StringComparison.Ordinal)
            .Replace("turn: VR1", "turn: R1", StringComparison.Ordinal)
            .Replace("load: 0 .. 250 Ω", "load: 250 .. 0 Ω", StringComparison.Ordinal)
            .Replace("from: input, voltage: 5.0 V", "from: inptu, voltage: 5.0 V", StringComparison.Ordinal);
        Parsed<Instrument> parsed = InstrumentReader.ReadText("small.yaml", text);
        Assert.Null(parsed.Value);
        Assert.Equal(
            ["unknown supply", "unknown grade", "unknown key", "not a whole number", "tolerance out of range", "out of range", "not a trimmer"],
            parsed.Diagnostics.Select(d => d.Code));
    }

    [Theory] // the place between the marks takes the place of what stands before the arrow
    [InlineData("resistor: 4k7", "resistor: [|4.7 V|]", "wrong unit")]
    [InlineData("resistor: 4k7", "resistor: [|4700|]", "not a quantity")]
    [InlineData("resistor: 4k7", "resistor: [|-4.7 kΩ|]", "not a quantity")]
    [InlineData("resistor: 4k7", "resistor: [|0 Ω|]", "out of range")]
    [InlineData("resistor: 4k7", "resistor: [|4.7 kΩ ±150 %|]", "tolerance out of range")]
    [InlineData("resistor: 4k7", "resistor: [|\"4,7 kΩ\"|]", "not a quantity")]
    [InlineData("resistor: 4k7, between: [fb, 0V]", "[|resistor|]: 4k7", "missing key")]
    [InlineData("resistor: 4k7, between: [fb, 0V]", "resistor: 4k7, between: [|[fb]|]", "wrong length")]
    [InlineData("resistor: 4k7, between: [fb, 0V]", "resistor: 4k7, between: [|fb|]", "wrong type")]
    [InlineData("resistor: 4k7, between: [fb, 0V]", "resistor: 4k7, between: [fb, [|0 V|]]", "not a name")]
    [InlineData("resistor: 4k7, between: [fb, 0V]", "resistor: 4k7, between: [fb, 0V], [|colour|]: red", "unknown key")]
    [InlineData("R2: { resistor", "[|R1|]: { resistor", "duplicate key")]
    [InlineData("R3: { resistor", "[|R1|]: { resistor", "duplicate name")]
    [InlineData("- writing:", "- [|reading|]:", "duplicate name")]
    [InlineData("ambient: 5 .. 45 °C", "ambient: [|45 .. 5 °C|]", "out of range")]
    [InlineData("ambient: 5 .. 45 °C", "ambient: [|-300 .. 45 °C|]", "out of range")]
    [InlineData("kind: linear regulator", "kind: [|linear regulater|]", "unknown word")]
    [InlineData("op amp: cmos low bias", "op amp: [|cmos low bais|]", "unknown grade")]
    [InlineData("block: rc filter", "block: [|rc filtre|]", "unknown block")]
    [InlineData("R: 10 kΩ ±1 %, C:", "R: [|10 kV|], C:", "wrong kind of quantity")]
    [InlineData("R: 10 kΩ ±1 %, C:", "[|Q|]: 10 kΩ, R: 10 kΩ, C:", "unknown value")]
    [InlineData("block: rc filter, in: amp,", "block: [|rc filter|],", "missing")]
    [InlineData("jumper: run", "jumper: [|rum|]", "unknown position")]
    [InlineData("TP1: amp", "TP1: [|amq|]", "unknown node")]
    [InlineData("input: adc, bits", "input: [|acd|], bits", "unknown node")]
    [InlineData("from: sense", "from: [|sens|]", "unknown node")]
    [InlineData("through: [loop+, loop-]", "through: [loop+, [|lop-|]]", "unknown node")]
    [InlineData("from: reading", "from: [|raeding|]", "unknown stage")]
    [InlineData("turn: VR1", "turn: [|VR2|]", "unknown part")]
    [InlineData("turn: VR1", "turn: [|R1|]", "not a trimmer")]
    [InlineData("until: { TP2", "until: { [|TP3|]", "unknown node")]
    [InlineData("until: { TP2: 2.25 V", "until: { loop: [|2.25 V ±2 mV|]", "wrong kind of quantity", " ±2 mV")]
    [InlineData("with: { sense: 4.5 V }", "with: { sense: [|4.5 Ω|] }", "wrong kind of quantity")]
    [InlineData("with: { sense: 4.5 V }", "with: { code: [|4.5 V|] }", "wrong kind of quantity")]
    [InlineData("intent: { 0.5 V: 0.25 V,", "intent: { [|1 Ω|]: 0.25 V,", "wrong kind of quantity", null, 2)]
    [InlineData("0.4 V: 4 mA", "0.4 V: [|4 V|]", "wrong kind of quantity", null, 2)]
    [InlineData("scale: { 0 kPa:", "scale: { [|0 kg|]:", "wrong kind of quantity")]
    [InlineData("step: 0.1 kPa", "step: [|0.1 kg|]", "wrong kind of quantity")]
    [InlineData("loop: { error: ±0.6 % of span }", "loop: { error: [|±0.6 %|] }", "wrong kind of quantity")]
    [InlineData("bits: 12, reference: 2.5 V ±0.2 %", "bits: [|12.5|], reference: 2.5 V ±0.2 %", "not a whole number")]
    [InlineData("words: 32 bit", "words: [|12 bit|]", "unknown word")]
    [InlineData("kind: isolated converter, from: input,", "[|kind|]: isolated converter,", "missing key")]
    [InlineData("standards: {", "buffers: { first: 0 kPa }\n  [|standards|]: {", "keys exclude each other")]
    [InlineData("second: 100 kPa, settable", "settable", "contradiction")]
    [InlineData("second: 100 kPa", "second: [|0 kPa|]", "contradiction")]
    [InlineData("second: 100 kPa", "second: [|100 kg|]", "wrong kind of quantity")]
    [InlineData("second: 100 kPa", "second: { value: 100 kPa, temperatures: { [|10 °C|]: 99 kPa } }", "wrong length")]
    [InlineData("second: 100 kPa", "second: { value: 100 kPa, temperatures: { 15 °C: 99 kPa, 25 °C: 99 kPa, [|25 °C|]: 98 kPa } }", "duplicate key")]
    [InlineData("second: 100 kPa", "second: { value: 100 kPa, temperatures: { 15 °C: 99 kPa, 25 °C: 99 kPa, [|25.0 °C|]: 98 kPa } }", "contradiction")]
    [InlineData("second: 100 kPa", "second: { value: 100 kPa, temperatures: [|{ 10 °C: 99 kPa, 20 °C: 100 kPa }|] }", "contradiction")]
    [InlineData("compensation: { fixed: 25 °C }", "compensation: { fixed: 25 °C }, temperature error: [|±0.5 K|]", "contradiction")]
    [InlineData("compensation: { fixed: 25 °C }", "temperature error: [|0.5 K|]", "not a quantity")]
    [InlineData("accept: { slope", "at: [|30 .. 15 °C|]\n  accept: { slope", "out of range")]
    [InlineData("points: { 0 kPa", "response: [|0 s|], points: { 0 kPa", "out of range")]
    [InlineData("display: 20 x 4", "display: [|20 by 4|]", "wrong type")]
    [InlineData("kind: table", "kind: [|tabel|]", "unknown word")]
    [InlineData("kind: table, ", "", "missing key")]
    public void ReadText_OneMistake_IsLocatedWithItsCode(string sound, string mistake, string code, string? alsoRemoved = null, int expected = 1)
    {
        Assert.Contains(sound, Samples.Small, StringComparison.Ordinal);
        int at = Samples.Small.IndexOf(sound, StringComparison.Ordinal);
        string rest = Samples.Small[(at + sound.Length)..];
        if (alsoRemoved is not null)
        {
            Assert.StartsWith(alsoRemoved, rest, StringComparison.Ordinal);
            rest = rest[alsoRemoved.Length..];
        }

        string text = Samples.Small[..at] + mistake + rest;
        Marked? marked = mistake.Contains("[|", StringComparison.Ordinal) ? new Marked(text) : null;
        Parsed<Instrument> parsed = InstrumentReader.ReadText("small.yaml", marked?.Text ?? text);
        Assert.Null(parsed.Value);
        Diagnostic found = parsed.Diagnostics.First();
        Assert.True(parsed.Diagnostics.Length <= expected, string.Join("\n", parsed.Diagnostics.Select(d => $"{d.Span} {d.Code} {d.Message}")));
        Assert.Equal(code, found.Code);
        if (marked is not null)
        {
            Assert.Equal((marked.Start, marked.End), (found.Span.Start, found.Span.End));
        }
    }

    [Theory]
    [InlineData("resistor: 4k7", "resitor: 4k7", "write `resistor`")]
    [InlineData("cmos low bias", "CMOS low-bias", "write `cmos low bias`")]
    [InlineData("turn: VR1", "turn: VR2", "write `VR1`")]
    [InlineData("TP1: amp", "TP1: apm", "write `amp`")]
    [InlineData("specification:", "specifications:", "write `specification`")]
    [InlineData("through:", "trough:", "write `through`")]
    [InlineData("parts:", "part:", "write `parts`")]
    [InlineData("resistor: 4k7", "resistor: \"4,7 kΩ\"", "write a decimal point: `4.7 kΩ`")]
    [InlineData("resistor: 4k7", "resistor: 4.7 kΩ ±±1 %", "write the sign once: `4.7 kΩ ±1 %`")]
    [InlineData("resistor: 4k7", "resistor: 4.7 kΩ ± +/-1 %", "write the sign once: `4.7 kΩ ±1 %`")]
    [InlineData("resistor: 4k7", "resistor: 4700", "add the unit: `4700 Ω`")]
    [InlineData("resistor: 4k7", "resistor: 4.7 Kohm", "write `kOhm`")]
    [InlineData("resistor: 4k7", "resistor: 4700 ±1 %", "add the unit: `4700 Ω ±1 %`")]
    [InlineData("resistor: 4k7", "resistor: 4700 ±50", "add the unit: `4700 ±50 Ω`")]
    [InlineData("resistor: 4k7", "resistor: 4.7 x", null)]
    [InlineData("resistor: 4k7, between: [", "resistor: 4k7, between [", "put `: ` behind `between`")]
    [InlineData("supplies:", "supply:", "write `supplies`")]
    [InlineData("specification:", "specification:\n  ambient: 5 .. 45 C", "write `5 .. 45 °C`")]
    [InlineData("specification:", "specification:\n  response: 5 sec", "write `5 s`")]
    public void ReadText_SlipOfTheFinger_SaysWhatWasMeant(string sound, string mistake, string? mend)
    {
        string text = Samples.Small.Replace(sound, mistake, StringComparison.Ordinal);
        Assert.Contains(mend, InstrumentReader.ReadText("small.yaml", text).Diagnostics.Select(d => d.Mend));
    }

    [Fact]
    public void ReadText_AWrongUnit_SaysWhatWasExpectedAndFound()
    {
        string text = Samples.Small.Replace("resistor: 4k7", "resistor: 4.7 V", StringComparison.Ordinal);
        Diagnostic diagnostic = Assert.Single(InstrumentReader.ReadText("small.yaml", text).Diagnostics);
        Assert.Equal("Expected a resistance such as 4.7 kΩ, found `4.7 V`, a voltage.", diagnostic.Message);
        Assert.Equal("a resistance such as 4.7 kΩ", diagnostic.Expected);
        Assert.Equal("`4.7 V`, a voltage", diagnostic.Found);
    }

    [Fact]
    public void ReadText_FaultsToSignalAndPlausibleValues_AreRead()
    {
        string text = Samples.Small.Replace("specification:\n", "specification:\n  signals: [sensor open, A5 missing]\n", StringComparison.Ordinal)
            .Replace("arithmetic: { from: reading,", "arithmetic: { from: reading, plausible: −5 .. 0.11 MPa,", StringComparison.Ordinal);
        Parsed<Instrument> parsed = InstrumentReader.ReadText("small.yaml", text);
        Assert.Empty(parsed.Diagnostics.Select(d => d.Message));
        Assert.Equal(["sensor open", "A5 missing"], parsed.Value!.Specification.Signals.Select(s => s.Value));
        Assert.Equal("A5 missing", parsed.Value.Specification.Signals[1].Span.Text);
        QuantityRange plausible = Assert.Single(parsed.Value.Stages.OfType<ArithmeticStage>()).Plausible!;
        Assert.Equal(-5000, plausible.Low, 1e-9);     // kPa, the unit of the measurand
        Assert.Equal(110, plausible.High, 1e-9);
    }

    [Theory]
    [InlineData("specification:\n  signals: [sensor open, [|sensor open|]]\n", "arithmetic: { from: reading,", "contradiction")]
    [InlineData("specification:\n  signals: [|[]|]\n", "arithmetic: { from: reading,", "wrong length")]
    [InlineData("specification:\n  signals: [|sensor open|]\n", "arithmetic: { from: reading,", "wrong type")]
    [InlineData("specification:\n", "arithmetic: { plausible: [|10 .. 110|], from: reading,", "contradiction")]
    [InlineData("specification:\n", "arithmetic: { plausible: [|−10 .. 90 kPa|], from: reading,", "contradiction")]
    [InlineData("specification:\n", "arithmetic: { plausible: [|−10 .. 110 V|], from: reading,", "wrong kind of quantity")]
    public void ReadText_MistakesInFaultsToSignal_AreShown(string specification, string arithmetic, string code)
    {
        Marked marked = new(Samples.Small.Replace("specification:\n", specification, StringComparison.Ordinal)
            .Replace("arithmetic: { from: reading,", arithmetic, StringComparison.Ordinal));
        Diagnostic diagnostic = Assert.Single(InstrumentReader.ReadText("small.yaml", marked.Text).Diagnostics);
        Assert.Equal((code, marked.Start, marked.End), (diagnostic.Code, diagnostic.Span.Start, diagnostic.Span.End));
    }

    [Fact] // A part that can't be read takes its nodes along: one mistake must not make others
    public void ReadText_APartThatCannotBeRead_MakesNoFurtherMistakes()
    {
        string text = Samples.Small.Replace("op amp: cmos low bias, plus: sense", "op amp: cmos low bias, pluss: sense", StringComparison.Ordinal);
        Assert.Equal("unknown key", Assert.Single(InstrumentReader.ReadText("small.yaml", text).Diagnostics).Code);
    }

    [Fact]
    public void ReadText_SuppliesThatFeedEachOther_AreRefused()
    {
        string text = Samples.Small.Replace("input: { kind: dc, voltage: 24 V ±15 %, return: 0V }", "input: { kind: charge pump, from: A5, voltage: 24 V }", StringComparison.Ordinal);
        Assert.Contains(InstrumentReader.ReadText("small.yaml", text).Diagnostics, d => d.Code == "recursion");
    }

    [Fact]
    public void ReadText_DependsOnNoCulture() =>
        Assert.Equal(0.25, ((CircuitStage)InstrumentReader.ReadText("small.yaml", Samples.Small).Value!.Stages[0]).Intent[0].To.Value);
}
