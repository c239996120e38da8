using CsCheck;
using Throughline.Instruments.Physics;
using Xunit;
using static Throughline.Instruments.Tests.Sensors.SensorBench;

namespace Throughline.Instruments.Tests.Sensors;

public class SensorTests
{
    /// <summary>Each kind with the range in which its reading is promised.</summary>
    private static readonly (Sensor Sensor, double Low, double High)[] Kinds =
    [
        (Glass(), 0, 14),
        (Glass(6.8, 0.94, 7.3), 0, 14),
        (new RedoxElectrode { Offset = Exact("offset", Dimension.Voltage, 0.003), Resistance = Exact("resistance", Dimension.Resistance, 1e6), UnitFactor = 0.001, Plus = Node("p"), Minus = Node("n") }, -2000, 2000),
        (IonSelective(1), 1e-4, 1e3),
        (IonSelective(-2), 1e-4, 1e3),
        (Platinum(), -200, 850),
        (Platinum(1000, 4, 1), -200, 850),
        (Couple(ColdJunction.Assumed), -200, 1372),
        (Couple(ColdJunction.Measured, 'T'), -200, 400),
        (Couple(ColdJunction.Measured, 'B'), 60, 1820),
        (Couple(ColdJunction.TemperaturesAdded, 'N'), -150, 1300),
        (Bridge(), -100, 150),
        (Thermistor(true), -50, 150),
        (Thermistor(false), -40, 135),
        (new TableSensor(SignalKind.Current) { Curve = new PiecewiseLinear([(0, 0.004), (3, 0.010), (10, 0.020)]), Plus = Node("p"), Minus = Node("n") }, -1, 12),
        (new PolynomialSensor(SignalKind.Voltage) { Curve = new PolynomialCurve([0.5, 0.02, 1e-4], 0, 100), Plus = Node("p"), Minus = Node("n") }, -10, 120),
    ];

    [Fact] // Property: what the code assumes of a sensor, it reads back; relative, with the unit for values below one (temperatures about 0 °C)
    public void MeasurandOf_NominalSignal_IsTheMeasurand() => Gen.Select(Gen.Int[0, Kinds.Length - 1], Gen.Double[0, 1], Gen.Double[5, 80]).Sample((k, part, process) =>
    {
        (Sensor sensor, double low, double high) = Kinds[k];
        double x = low + part * (high - low);
        double read = sensor.MeasurandOf(sensor.NominalSignal(x, process), process);
        return Math.Abs(read - x) <= 1e-9 * Math.Max(1, Math.Abs(x));
    });

    [Fact] // Property: a unit with nominal parameters at the reference conditions gives the signal that the code assumes
    public void Signal_OfTheNominalUnit_IsTheNominalSignal() => Gen.Select(Gen.Int[0, Kinds.Length - 1], Gen.Double[0, 1], Gen.Double[5, 80]).Sample((k, part, process) =>
    {
        (Sensor sensor, double low, double high) = Kinds[k];
        if (sensor is ThermocoupleSensor { ColdJunction: ColdJunction.TemperaturesAdded })
        {
            return true;
        }

        double x = low + part * (high - low);
        double nominal = sensor.NominalSignal(x, process);
        double signal = sensor.Signal(new BenchState { Measurand = x, ProcessCelsius = process });
        return Math.Abs(signal - nominal) <= 1e-12 * Math.Max(1e-3, Math.Abs(nominal));
    });

    [Fact] // Every number that a law reads is among the parameters, or a computation could not move it
    public void Parameters_HoldEverythingThatIsRead() => Assert.All(Kinds, kind =>
    {
        WatchedState state = new() { Measurand = (kind.Low + kind.High) / 2 };
        kind.Sensor.Signal(state);
        kind.Sensor.SourceResistance(state);
        kind.Sensor.Describe(new BenchNetwork(state));
        Assert.Subset(kind.Sensor.Parameters.ToHashSet(), state.Read);
        Assert.Equal(kind.Sensor.Parameters.Length, kind.Sensor.Parameters.Distinct().Count());
    });

    [Fact] // The rise in the cold: 7.5 K halve it, so 200 MΩ at 25 °C are 800 MΩ at 10 °C
    public void Glass_SourceResistance_RisesInTheCold() =>
        Assert.Equal(800e6, Glass().SourceResistance(new BenchState { ProcessCelsius = 10 }), 1.0);

    [Fact] // 0.02 pH/week over 14 days is 0.04 pH, 2.37 mV at 25 °C with the slope of 59.16 mV/pH
    public void Glass_Drift_MovesTheZero()
    {
        GlassElectrode sensor = Glass();
        BenchState state = new() { Measurand = 7, AgeSeconds = 14 * 86400 };
        state.Set[sensor.ZeroDrift!] = sensor.ZeroDrift!.Quantity.High;
        Assert.Equal(0.04 * 59.16e-3, sensor.Signal(state), 1e-6);
    }

    [Theory] // 1 mV/day over 10 days is 10 mV, on either electrode
    [InlineData(true)]
    [InlineData(false)]
    public void Drift_OfAPotential_AddsUp(bool redox)
    {
        Parameter drift = About("drift", Dimension.VoltageRate, 0, 1e-3 / 86400);
        Sensor sensor = redox
            ? new RedoxElectrode
            {
                Offset = Exact("offset", Dimension.Voltage, 0),
                Resistance = Exact("resistance", Dimension.Resistance, 1e6),
                OffsetDrift = drift,
                UnitFactor = 0.001,
                Plus = Node("p"),
                Minus = Node("n"),
            }
            : IonSelective(1) with { PotentialDrift = drift };
        BenchState state = new() { Measurand = 10 };
        double fresh = sensor.Signal(state);
        state.AgeSeconds = 10 * 86400;
        state.Set[drift] = drift.Quantity.High;
        Assert.Equal(0.010, sensor.Signal(state) - fresh, 1e-12);
        Instrument instrument = Instrument(sensor, "mV", Range(Dimension.Voltage, 1, 500), interval: Quantity.Exact(Dimension.Time, 10 * 86400));
        Assert.Equal(sensor.MeasurandOf(sensor.NominalSignal(10, 25) + 0.010, 25) - 10, Assert.Single(sensor.Influences(instrument)).Shift(10), 1e-9);
    }

    [Fact] // 12 mA out of the first node into 250 Ω beside the sensor's own 1 kΩ: 2.4 V
    public void Current_InANetwork_FlowsOutOfTheFirstNode()
    {
        TableSensor sensor = new(SignalKind.Current)
        {
            Curve = new PiecewiseLinear([(0, 0.004), (100, 0.020)]),
            Resistance = Exact("resistance", Dimension.Resistance, 1000),
            Plus = Node("p"),
            Minus = Node("0V"),
        };
        BenchNetwork network = new(new BenchState { Measurand = 50 });
        sensor.Describe(network);
        network.Resistor("load", "p", "0V", _ => 250);
        Assert.Equal(2.4, network.Solve("0V")["p"], 1e-12);
    }

    [Fact] // A bridge of four arms: output, loading of the excitation and common mode by Ohm's law
    public void Bridge_InANetwork_IsTrueInOutputLoadAndCommonMode()
    {
        StrainGaugeBridge sensor = Bridge();
        BenchNetwork network = new(new BenchState { Measurand = 50 });
        sensor.Describe(network);
        network.VoltageSource("supply", "x", "e-", _ => 5);
        network.Resistor("lead", "x", "e+", _ => 10);
        var v = network.Solve("e-");
        double excitation = 5.0 * 350 / 360;
        Assert.Equal(excitation, v["e+"], 1e-9);
        Assert.Equal(1e-3 * excitation, v["s+"] - v["s-"], 1e-9);
        Assert.Equal(excitation / 2, (v["s+"] + v["s-"]) / 2, 1e-9);
    }

    [Theory]
    [InlineData(385)]
    [InlineData(330)]
    public void Bridge_WithAnInputResistanceOfItsOwn_LoadsByIt(double ohms)
    {
        StrainGaugeBridge sensor = Bridge(ohms);
        BenchNetwork network = new(new BenchState { Measurand = 100 });
        sensor.Describe(network);
        network.VoltageSource("supply", "x", "e-", _ => 5);
        network.Resistor("lead", "x", "e+", _ => 35);
        var v = network.Solve("e-");
        Assert.Equal(5 * ohms / (ohms + 35), v["e+"], 1e-9);
        Assert.Equal(2e-3 * v["e+"], v["s+"] - v["s-"], 1e-9);
    }

    [Fact] // The bench's ratio stands in the same arms
    public void Bridge_Simulated_GivesTheSetRatio()
    {
        BenchNetwork network = new(new BenchState());
        Bridge().DescribeSimulated(network, _ => 1.25e-3);
        network.VoltageSource("supply", "e+", "e-", _ => 4);
        var v = network.Solve("e-");
        Assert.Equal(5e-3, v["s+"] - v["s-"], 1e-12);
    }

    [Fact] // A potentiometric sensor: a divider when its lower signal node is the excitation's return
    public void Ratio_OnTheExcitationsReturn_IsADivider()
    {
        TableSensor sensor = new(SignalKind.Ratio)
        {
            Curve = new PiecewiseLinear([(0, 0.1), (100, 0.9)]),
            Resistance = Exact("resistance", Dimension.Resistance, 5000),
            Plus = Node("w"),
            Minus = Node("0V"),
            Excitation = (Node("e"), Node("0V")),
        };
        BenchNetwork network = new(new BenchState { Measurand = 25 });
        sensor.Describe(network);
        network.VoltageSource("supply", "e", "0V", _ => 5);
        Assert.Equal(1.5, network.Solve("0V")["w"], 1e-12);
        Assert.Equal(4, sensor.Terminals.Length);
    }

    [Theory] // Leads by Ohm's law: two wires in series; three and four leave the element alone when the circuit takes them out
    [InlineData(2, 1.5)]
    [InlineData(3, 1.5)]
    [InlineData(4, 1.5)]
    public void Platinum_InANetwork_HasItsLeads(int wires, double lead)
    {
        PlatinumSensor sensor = Platinum(100, wires, lead);
        BenchNetwork network = new(new BenchState { Measurand = 100 });
        sensor.Describe(network);
        network.CurrentSource("supply", "t2", "t1", _ => 1e-3);
        var v = network.Solve("t2");
        double element = 138.5055;
        double ohms = wires switch
        {
            2 => v["t1"] / 1e-3,
            3 => (v["t1"] - v["t3"] - v["t3"]) / 1e-3,
            _ => (v["t3"] - v["t4"]) / 1e-3,
        };
        Assert.Equal(wires == 2 ? element + 2 * lead : element, ohms, 1e-4);
    }

    [Theory] // The bench's decade box at the terminals stands for element and leads
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    public void Platinum_Simulated_IsTheSetResistance(int wires)
    {
        BenchNetwork network = new(new BenchState());
        Platinum(100, wires, 2).DescribeSimulated(network, _ => 110);
        network.CurrentSource("supply", "t2", "t1", _ => 1e-3);
        var v = network.Solve("t2");
        Assert.Equal(0.110, v[wires == 4 ? "t3" : "t1"] - v[wires == 4 ? "t4" : wires == 3 ? "t3" : "t2"], 1e-12);
    }

    [Fact] // IEC 60751 class A at 100 °C: ±0.35 K, which is 0.379 Ω/K × 0.35 K
    public void Platinum_AtTheEndOfItsClass_ReadsTheToleranceHigher()
    {
        PlatinumSensor sensor = Platinum(toleranceClass: "A");
        BenchState state = new() { Measurand = 100 };
        state.Set[sensor.ClassPosition!] = 1;
        Assert.Equal(100.35, sensor.MeasurandOf(sensor.Signal(state), 25), 1e-9);
    }

    [Fact]
    public void Platinum_OutsideTheStandard_StaysAtItsEnd() => Assert.Equal(
        390.48, Platinum().Signal(new BenchState { Measurand = 900 }), 0.005);

    [Fact] // IEC 60584-1 class 1 of type K at 500 °C: 0.004 × 500 = 2 K
    public void Couple_AtTheEndOfItsClass_ReadsTheToleranceHigher()
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.Assumed) with { Class = 1, ClassPosition = About("class", Dimension.Ratio, 0, 1) };
        BenchState state = new() { Measurand = 500 };
        state.Set[sensor.ClassPosition!] = 1;
        Assert.Equal(502, sensor.MeasurandOf(sensor.Signal(state), 25), 1e-6);
    }

    [Fact] // Measured terminals: whatever their temperature, the reading stands; an error of 1 K there is 1.04 K at 1000 °C for type K (worked from the tables)
    public void Couple_WithMeasuredTerminals_ReadsRight()
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.Measured, error: 1);
        BenchState state = new() { Measurand = 1000, AmbientCelsius = 48 };
        Assert.Equal(1000, sensor.Reading(sensor.Signal(state), 25, state), 1e-6);
        state.AmbientCelsius = 25;
        state.Set[sensor.ColdJunctionError!] = 1;
        Assert.Equal(1.04, sensor.Reading(sensor.Signal(state), 25, state) - 1000, 0.005);
    }

    [Fact] // Temperatures added, K, 500 °C with the terminals at 25 °C: 501.52 (worked from the tables; the row is in sensors-tc-cjc-check.csv)
    public void Couple_WithTemperaturesAdded_ReadsWrong()
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.TemperaturesAdded);
        BenchState state = new() { Measurand = 500 };
        Assert.Equal(501.52, sensor.Reading(sensor.Signal(state), 25, state), 0.005);
    }

    [Fact] // By the β equation: 1 % of R25 at 25 °C is 1 % of everything; +30 K of β is exp(30 (1/T − 1/T0))
    public void Thermistor_MovesWithItsParameters()
    {
        ThermistorSensor sensor = Thermistor(true);
        BenchState state = new() { Measurand = 85 };
        double nominal = sensor.Signal(state);
        state.Set[sensor.Resistance] = 10100;
        Assert.Equal(1.01, sensor.Signal(state) / nominal, 1e-12);
        state.Set[sensor.Resistance] = 10000;
        state.Set[sensor.Beta!] = 4007;
        Assert.Equal(ThermistorLaw.FromBeta(10e3, 25, 4007).Ohms(85), sensor.Signal(state), 1e-6);
    }

    [Fact]
    public void IonSelective_OfNoConcentration_StillHasASignal() =>
        Assert.True(double.IsFinite(IonSelective(1).Signal(new BenchState { Measurand = 0 })));

    private sealed class WatchedState : IUnitState
    {
        public HashSet<Parameter> Read { get; } = [];

        public double Measurand { get; init; }

        public double AmbientCelsius => 25;

        public double ProcessCelsius => 25;

        public double AgeSeconds => 1;

        public double Value(Parameter parameter)
        {
            Read.Add(parameter);
            return parameter.Quantity.Value;
        }
    }
}
