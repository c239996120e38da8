using System.Collections.Immutable;
using Throughline.Instruments.Physics;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

/// <summary>The kinds of sensors as a file says them: examples, defaults, nominal values, and mistakes with their place.</summary>
public class SensorReadingTests
{
    private static readonly MapShape Root = new("bench", "", Key.Required("sensor", SensorKinds.Shape, ""));

    private static (Sensor? Sensor, ImmutableArray<Diagnostic> Diagnostics) Read(string sensor, string unit = "pH", double low = 0, double high = 14)
    {
        (Dimension dimension, double factor) = unit switch
        {
            "pH" => (Dimension.Acidity, 1),
            "°C" => (Dimension.Temperature, 1),
            "mV" => (Dimension.Voltage, 1e-3),
            "mmol/L" => (Dimension.Concentration, 1),
            "mol/L" => (Dimension.Concentration, 1000),
            "kg" => (Dimension.Mass, 1),
            "g" => (Dimension.Mass, 1e-3),
            "kPa" => (Dimension.Pressure, 1e3),
            _ => throw new ArgumentOutOfRangeException(nameof(unit), unit, "Not in use here."),
        };
        DiagnosticSink sink = new();
        SourceText source = new("bench.yaml", "sensor: " + sensor + "\n");
        YamlNode? root = YamlReader.Read(source, sink);
        Assert.NotNull(root);
        Root.Check(root, new ShapeContext(sink));
        ReadingContext context = new(sink)
        {
            Library = null!, // sensors name no grades
            Measurand = new MeasurandScale(unit, dimension, factor),
            Specification = new Specification
            {
                Measurand = SensorBench.Node("bench"),
                Unit = unit,
                UnitFactor = factor,
                Dimension = dimension,
                Range = new QuantityRange(dimension, low, high, new SourceSpan(source, 0, 6), "range"),
                Ambient = SensorBench.Range(Dimension.Temperature, 25, 25),
                Process = SensorBench.Range(Dimension.Temperature, 25, 25),
            },
        };
        Sensor? read = SensorKinds.Read(new MapView((MapNode)root, Root, context), "sensor");
        return (read, sink.ToSorted());
    }

    private static T ReadAs<T>(string sensor, string unit = "pH", double low = 0, double high = 14)
        where T : Sensor
    {
        (Sensor? read, ImmutableArray<Diagnostic> diagnostics) = Read(sensor, unit, low, high);
        Assert.Empty(diagnostics);
        return Assert.IsType<T>(read);
    }

    public static TheoryData<string> Words => [.. SensorKinds.All.Select(k => k.Word)];

    [Theory]
    [MemberData(nameof(Words))]
    public void Example_OfEveryKind_IsReadAndGivesASignal(string word)
    {
        SensorKind kind = SensorKinds.All.Single(k => k.Word == word);
        (string unit, double low, double high) = word switch
        {
            "glass electrode" => ("pH", 0.0, 14.0),
            "redox electrode" => ("mV", -1000, 1000),
            "ion-selective electrode" => ("mmol/L", 0.1, 100),
            "platinum resistance" or "thermocouple" or "thermistor" => ("°C", 0, 100),
            "strain-gauge bridge" => ("kg", 0, 100),
            _ => ("kPa", 0, 100),
        };
        (Sensor? sensor, ImmutableArray<Diagnostic> diagnostics) = Read(kind.Shape.Example!, unit, low, high);
        Assert.Empty(diagnostics);
        Assert.NotNull(sensor);
        Assert.Equal(word, sensor.Kind);
        double middle = (low + high) / 2;
        Assert.Equal(middle, sensor.MeasurandOf(sensor.NominalSignal(middle, 25), 25), 1e-9);
        BenchNetwork network = new(new BenchState { Measurand = middle });
        sensor.Describe(network);
        sensor.DescribeSimulated(network, _ => 1);
        Assert.All(sensor.Terminals, t => Assert.False(t.Node.Span.IsNowhere));
        Assert.All(sensor.Parameters, p => Assert.Equal("sensor", p.Owner));
    }

    [Fact]
    public void Glass_WithRanges_HasTheIdealsAsNominal()
    {
        GlassElectrode sensor = ReadAs<GlassElectrode>(
            "{ kind: glass electrode, zero: 7.00 ±0.40 pH, slope: 94 .. 101 %, resistance: 50 .. 600 MΩ, drift: 0.02 pH/week, between: [probe, probe-return] }");
        Quantity slope = sensor.Slope.Quantity, resistance = sensor.Resistance.Quantity, zero = sensor.Zero.Quantity;
        Assert.Equal((1.0, 0.94, 1.01), (slope.Value, slope.Low, slope.High));
        Assert.Equal((7.0, 6.6, 7.4), (zero.Value, Math.Round(zero.Low, 12), Math.Round(zero.High, 12)));
        Assert.Equal(Math.Sqrt(50e6 * 600e6), resistance.Value, 1.0);
        Assert.Equal((50e6, 600e6), (resistance.Low, resistance.High));
        Assert.Equal(0.02 / 604800, sensor.ZeroDrift!.Quantity.High, 1e-15);
        Assert.Equal(0, sensor.ZeroDrift.Quantity.Value);
        Assert.Equal(-sensor.ZeroDrift.Quantity.High, sensor.ZeroDrift.Quantity.Low);
        Assert.Equal(("probe", "probe-return"), (sensor.Plus.Value, sensor.Minus.Value));
    }

    [Theory]
    [InlineData("102 .. 105 %", 1.02)]
    [InlineData("90 .. 97 %", 0.97)]
    [InlineData("96 %", 0.96)]
    [InlineData("96 ±2 %", 0.96)]
    public void Glass_Slope_HasTheNearestEndAsNominal(string slope, double nominal) => Assert.Equal(
        nominal, ReadAs<GlassElectrode>($"{{ kind: glass electrode, slope: {slope}, resistance: 100 MΩ, between: [a, b] }}").Slope.Quantity.Value, 1e-12);

    [Fact]
    public void Glass_WithoutOptions_IsIdeal()
    {
        GlassElectrode sensor = ReadAs<GlassElectrode>("{ kind: glass electrode, resistance: 100 MΩ, between: [a, b] }");
        Assert.Equal((7.0, 1.0, 7.0, 7.5), (sensor.Zero.Quantity.Value, sensor.Slope.Quantity.Value, sensor.Isopotential.Quantity.Value, sensor.HalvesEvery.Quantity.Value));
        Assert.Null(sensor.ZeroDrift);
    }

    [Fact] // 59.16 mV per decade; a negative ion the other way
    public void IonSelective_InMolPerLitre_HasItsPointInThatUnit()
    {
        IonSelectiveElectrode sensor = ReadAs<IonSelectiveElectrode>(
            "{ kind: ion-selective electrode, charge: -1, potential at: { 1 mmol/L: 120 mV }, detection limit: 10 µmol/L, resistance: 1 MΩ, between: [a, b] }", "mol/L", 1e-4, 0.1);
        Assert.Equal(0.120, sensor.NominalSignal(1e-3, 25), 1e-12);
        Assert.Equal(0.120 - 0.05916, sensor.NominalSignal(1e-2, 25), 1e-6);
        Assert.Equal(1e-5, sensor.DetectionLimit, 1e-18);
    }

    [Fact]
    public void Platinum_ByWires_HasItsTerminals()
    {
        Assert.Equal(["a", "b"], Names("wires: 2, between: [a, b]"));
        Assert.Equal(["a", "b", "c"], Names("wires: 3, sense: [a, b], return: c"));
        Assert.Equal(["f1", "f2", "s1", "s2"], Names("wires: 4, force: [f1, f2], sense: [s1, s2]"));

        static string[] Names(string connection) =>
            [.. ReadAs<PlatinumSensor>($"{{ kind: platinum resistance, element: Pt100, {connection} }}", "°C", 0, 100).Terminals.Select(t => t.Node.Value)];
    }

    [Fact]
    public void Thermocouple_ByColdJunction_IsWhatIsSaid()
    {
        Assert.Equal(ColdJunction.Assumed, Read("{ assumed: 20 °C }").ColdJunction);
        Assert.Equal(20, Read("{ assumed: 20 °C }").AssumedCelsius);
        Assert.Equal(0.5, Read("{ measured: ±0.5 K }").ColdJunctionError!.Quantity.High);
        Assert.Null(Read("{ measured: true }").ColdJunctionError);
        Assert.Equal(ColdJunction.TemperaturesAdded, Read("{ add temperatures: true }").ColdJunction);
        Assert.Equal((25.0, 15.0, 35.0), Read("{ measured: true }").TerminalTemperature!.Quantity is var q ? (q.Value, q.Low, q.High) : default);

        static ThermocoupleSensor Read(string junction) => ReadAs<ThermocoupleSensor>(
            $"{{ kind: thermocouple, type: K, cold junction: {junction}, terminals: 15 .. 35 °C, between: [a, b] }}", "°C", 0, 400);
    }

    [Fact] // 2 mV/V at 1 t on a bridge that is read in kilograms
    public void Bridge_WithItsLoadInAnotherUnit_IsRight()
    {
        StrainGaugeBridge sensor = ReadAs<StrainGaugeBridge>(
            "{ kind: strain-gauge bridge, resistance: 350 Ω, rated output: 2 mV/V ±0.1 %, rated load: 1 t, zero balance: ±1 %, excitation: [e, 0V], signal: [p, n] }", "kg", 0, 800);
        Assert.Equal(1e-3, sensor.NominalSignal(500, 25), 1e-15);
        Assert.Equal((-0.01, 0.01), (sensor.ZeroBalance!.Quantity.Low, sensor.ZeroBalance.Quantity.High));
    }

    [Fact] // The published curve of a 10 kΩ part: 3601 Ω at 50 °C, printed to four digits
    public void Thermistor_ByCoefficients_FollowsThem()
    {
        string four = "{ kind: thermistor, resistance: 10 kΩ, coefficients: [3.3539438e-3, 2.5646095e-4, 2.5158166e-6, 1.0503069e-7], between: [a, b] }";
        string three = "{ kind: thermistor, resistance: 10 kΩ, coefficients: [1.130562992e-3, 2.338798552e-4, 8.875748473e-8], between: [a, b] }";
        Assert.Equal(3601, ReadAs<ThermistorSensor>(four, "°C", 0, 100).NominalSignal(50, 25), 0.5);
        Assert.Equal(3601, ReadAs<ThermistorSensor>(three, "°C", 0, 100).NominalSignal(50, 25), 0.5);
    }

    [Fact]
    public void Polynomial_InMillivolts_IsInVoltInside() => Assert.Equal(
        0.0405 * 100 * 1e-3,
        ReadAs<PolynomialSensor>("{ kind: polynomial, signal: mV, coefficients: [0, 0.0405], between: [a, b] }", "°C", 0, 400).NominalSignal(100, 25), 1e-15);

    [Theory]
    [InlineData("V", "0.5 V", "4.5 V", 2.5)]
    [InlineData("mV", "0.5 mV", "4.5 mV", 2.5e-3)]
    [InlineData("mA", "4 mA", "20 mA", 12e-3)]
    [InlineData("Ω", "100 Ω", "300 Ω", 200)]
    public void Table_OfAnySignal_IsInItsOwnUnit(string signal, string low, string high, double middle) => Assert.Equal(
        middle,
        ReadAs<TableSensor>($"{{ kind: table, signal: {signal}, points: {{ 0 kPa: {low}, 100 kPa: {high} }}, between: [a, b] }}", "kPa", 0, 100).NominalSignal(50, 25), 1e-12);

    [Theory] // Each mistake: the code and the text that it points at
    [InlineData("{ kind: glass electrode, resistance: 100 MΩ, between: [a, b] }", "°C", 0, 50, "wrong kind of quantity", "glass electrode")]
    [InlineData("{ kind: glass electrod, resistance: 100 MΩ, between: [a, b] }", "pH", 0, 14, "unknown word", "glass electrod")]
    [InlineData("{ kind: glass electrode, resistance: 100 mV, between: [a, b] }", "pH", 0, 14, "wrong unit", "100 mV")]
    [InlineData("{ kind: glass electrode, resistance: 100 MΩ, slope: 300 %, between: [a, b] }", "pH", 0, 14, "out of range", "300 %")]
    [InlineData("{ kind: glass electrode, resistance: 100 MΩ, zero: 15 pH, between: [a, b] }", "pH", 0, 14, "out of range", "15 pH")]
    [InlineData("{ kind: glass electrode, between: [a, b] }", "pH", 0, 14, "missing key", "kind")]
    [InlineData("{ kind: redox electrode, resistance: 1 MΩ, offset: 3 Ω, between: [a, b] }", "mV", 0, 500, "wrong unit", "3 Ω")]
    [InlineData("{ kind: ion-selective electrode, charge: 3, potential at: { 1 mmol/L: 0 mV }, resistance: 1 MΩ, between: [a, b] }", "mmol/L", 1, 10, "unknown word", "3")]
    [InlineData("{ kind: ion-selective electrode, charge: 1, potential at: { 0 mmol/L: 0 mV }, resistance: 1 MΩ, between: [a, b] }", "mmol/L", 1, 10, "out of range", "0 mmol/L")]
    [InlineData("{ kind: ion-selective electrode, charge: 1, potential at: { 1 mmol/L: 0 mV }, resistance: 1 MΩ, between: [a, b] }", "mmol/L", 0, 10, "out of range", "sensor")]
    [InlineData("{ kind: ion-selective electrode, charge: 1, potential at: { 1 kg: 0 mV }, resistance: 1 MΩ, between: [a, b] }", "mmol/L", 1, 10, "wrong kind of quantity", "1 kg")]
    [InlineData("{ kind: platinum resistance, element: Pt100, wires: 2 }", "°C", 0, 50, "missing", "2")]
    [InlineData("{ kind: platinum resistance, element: Pt100, wires: 2, between: [a, b], return: c }", "°C", 0, 50, "contradiction", "c")]
    [InlineData("{ kind: platinum resistance, element: Pt100, wires: 5, between: [a, b] }", "°C", 0, 50, "unknown word", "5")]
    [InlineData("{ kind: platinum resistance, element: Pt100, wires: 2, between: [a, b] }", "°C", -250, 50, "out of range", "sensor")]
    [InlineData("{ kind: platinum resistance, element: Pt100, class: A, wires: 2, between: [a, b] }", "°C", 0, 500, "out of range", "sensor")]
    [InlineData("{ kind: thermocouple, type: K, cold junction: { }, between: [a, b] }", "°C", 0, 400, "missing key", "{ }")]
    [InlineData("{ kind: thermocouple, type: K, cold junction: { measured: true, assumed: 25 °C }, between: [a, b] }", "°C", 0, 400, "keys exclude each other", "assumed")]
    [InlineData("{ kind: thermocouple, type: K, cold junction: { measured: false }, between: [a, b] }", "°C", 0, 400, "contradiction", "false")]
    [InlineData("{ kind: thermocouple, type: B, class: 1, cold junction: { measured: true }, between: [a, b] }", "°C", 600, 1700, "contradiction", "1")]
    [InlineData("{ kind: thermocouple, type: B, cold junction: { measured: true }, between: [a, b] }", "°C", 0, 1700, "out of range", "sensor")]
    [InlineData("{ kind: strain-gauge bridge, resistance: 350 Ω, rated output: 2 mV/V, rated load: 100 N, excitation: [a, b], signal: [c, d] }", "kg", 0, 50, "wrong kind of quantity", "100 N")]
    [InlineData("{ kind: strain-gauge bridge, resistance: 350 Ω, rated output: 2 mV/V, rated load: −1 kg, excitation: [a, b], signal: [c, d] }", "kg", 0, 50, "out of range", "−1 kg")]
    [InlineData("{ kind: thermistor, resistance: 10 kΩ, between: [a, b] }", "°C", 0, 50, "missing key", "kind")]
    [InlineData("{ kind: thermistor, resistance: 47 kΩ, coefficients: [1.130562992e-3, 2.338798552e-4, 8.875748473e-8], between: [a, b] }", "°C", 0, 50, "contradiction", "[1.130562992e-3, 2.338798552e-4, 8.875748473e-8]")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 50 kPa: 2 A, 100 kPa: 4.5 V }, between: [a, b] }", "kPa", 0, 100, "wrong kind of quantity", "2 A")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 50 kPa: 5 V, 100 kPa: 4.5 V }, between: [a, b] }", "kPa", 0, 100, "contradiction", "{ 0 kPa: 0.5 V, 50 kPa: 5 V, 100 kPa: 4.5 V }")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 1 bar: 4 V, 100 kPa: 4.5 V }, between: [a, b] }", "kPa", 0, 100, "contradiction", "100 kPa")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V }, between: [a, b] }", "kPa", 0, 100, "wrong length", "0 kPa")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 50 kPa: 4.5 V }, between: [a, b] }", "kPa", 0, 100, "out of range", "sensor")]
    [InlineData("{ kind: table, signal: mV/V, points: { 0 kPa: 0 mV/V, 100 kPa: 2 mV/V }, resistance: 1 kΩ, between: [a, b] }", "kPa", 0, 100, "missing", "mV/V")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 4.5 V }, excitation: [a, b], between: [a, b] }", "kPa", 0, 100, "contradiction", "[a, b]")]
    [InlineData("{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 4.5 V }, error: ±1 mA, between: [a, b] }", "kPa", 0, 100, "wrong kind of quantity", "±1 mA")]
    [InlineData("{ kind: polynomial, signal: V, coefficients: [0, 1, -1], between: [a, b] }", "kPa", 0, 100, "contradiction", "[0, 1, -1]")]
    public void Mistake_IsReportedOnceAtItsPlace(string sensor, string unit, double low, double high, string code, string place)
    {
        Diagnostic found = Assert.Single(Read(sensor, unit, low, high).Diagnostics);

        // Whether the span of a list or a map holds its closing bracket is the reader's choice.
        Assert.Equal((code, place.TrimEnd(']', '}', ' ')), (found.Code, found.Span.Text.TrimEnd(']', '}', ' ')));
        Assert.NotEqual("", found.Message);
        Assert.NotEqual("", found.Expected);
        Assert.NotEqual("", found.Found);
    }

    [Fact] // Both readings of the coefficients of IEC 60751 above 0 °C agree
    public void Platinum_AndItsPolynomial_Agree()
    {
        PolynomialSensor polynomial = ReadAs<PolynomialSensor>("{ kind: polynomial, signal: Ω, coefficients: [100, 0.39083, -5.775e-5], between: [a, b] }", "°C", 0, 400);
        Assert.Equal(100 * PlatinumResistance.Ratio(250), polynomial.NominalSignal(250, 25), 1e-9);
    }
}
