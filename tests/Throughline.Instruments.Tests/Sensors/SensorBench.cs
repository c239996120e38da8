using Throughline.Instruments.Physics;

namespace Throughline.Instruments.Tests.Sensors;

/// <summary>One unit whose parameters stand at their nominal values unless set otherwise.</summary>
internal sealed class BenchState : IUnitState
{
    public Dictionary<Parameter, double> Set { get; } = [];

    public double Measurand { get; set; }

    public double AmbientCelsius { get; set; } = 25;

    public double ProcessCelsius { get; set; } = 25;

    public double AgeSeconds { get; set; }

    public double Value(Parameter parameter) => Set.TryGetValue(parameter, out double value) ? value : parameter.Quantity.Value;
}

/// <summary>Sensors and instruments made without a file.</summary>
internal static class SensorBench
{
    public static Located<string> Node(string name) => new(name, default);

    public static QuantityRange Range(Dimension dimension, double low, double high) => new(dimension, low, high, default, "");

    public static Parameter Exact(string name, Dimension dimension, double value) => new("sensor", name, Quantity.Exact(dimension, value));

    public static Parameter About(string name, Dimension dimension, double value, double tolerance) =>
        new("sensor", name, new Quantity(dimension, value, value - tolerance, value + tolerance, 0, 0, default, ""));

    public static Instrument Instrument(
        Sensor sensor, string unit, QuantityRange range, QuantityRange? ambient = null, QuantityRange? process = null, double? assumed = null, Quantity? interval = null) => new()
        {
            Name = Node("bench"),
            Sensor = sensor,
            Source = new SourceText("bench", ""),
            Stages = [new ArithmeticStage
            {
                Name = Node("arithmetic"),
                Compensation = assumed is null ? Compensation.Measured : Compensation.Fixed,
                AssumedTemperature = assumed is { } t ? Quantity.Exact(Dimension.Temperature, t) : null,
            }],
            Specification = new Specification
            {
                Measurand = Node("bench"),
                Unit = unit,
                Dimension = range.Dimension,
                Range = range,
                Ambient = ambient ?? Range(Dimension.Temperature, 25, 25),
                Process = process ?? Range(Dimension.Temperature, 25, 25),
                CalibrationInterval = interval,
            },
        };

    public static GlassElectrode Glass(double zero = 7, double slope = 1, double isopotential = 7, double ohms = 200e6) => new()
    {
        Zero = About("zero", Dimension.Acidity, zero, 0.4),
        Slope = Exact("slope", Dimension.Ratio, slope),
        Isopotential = Exact("isopotential", Dimension.Acidity, isopotential),
        Resistance = Exact("resistance", Dimension.Resistance, ohms),
        HalvesEvery = Exact("resistance halves every", Dimension.TemperatureDifference, 7.5),
        ZeroDrift = About("drift", Dimension.AcidityRate, 0, 0.02 / (7 * 86400)),
        Plus = Node("probe"),
        Minus = Node("probe-return"),
    };

    public static PlatinumSensor Platinum(double ohms = 100, int wires = 2, double? lead = null, double mismatch = 0, string? toleranceClass = null) => new()
    {
        NominalOhms = ohms,
        Class = toleranceClass is null ? null : PlatinumClass.Named(toleranceClass),
        ClassPosition = toleranceClass is null ? null : About("class", Dimension.Ratio, 0, 1),
        Lead = lead is { } r ? Exact("lead resistance", Dimension.Resistance, r) : null,
        LeadMismatch = mismatch == 0 ? [] : [.. Enumerable.Range(1, wires).Select(i => About("mismatch", Dimension.Ratio, 0, mismatch))],
        Leads = [.. Enumerable.Range(1, wires).Select(i => Node(FormattableString.Invariant($"t{i}")))],
    };

    public static ThermocoupleSensor Couple(ColdJunction junction, char type = 'K', Parameter? terminals = null, double error = 0) => new()
    {
        Type = Thermocouple.ByType[type],
        ColdJunction = junction,
        ColdJunctionError = error == 0 ? null : About("cold junction error", Dimension.TemperatureDifference, 0, error),
        TerminalTemperature = terminals,
        Plus = Node("p"),
        Minus = Node("n"),
    };

    public static StrainGaugeBridge Bridge(double? inputOhms = null) => new()
    {
        Resistance = Exact("resistance", Dimension.Resistance, 350),
        RatedOutput = About("rated output", Dimension.Ratio, 2e-3, 5e-6),
        RatedLoad = 100,
        ZeroBalance = About("zero balance", Dimension.Ratio, 0, 0.01),
        InputResistance = inputOhms is { } r ? Exact("input resistance", Dimension.Resistance, r) : null,
        ExcitationPlus = Node("e+"),
        ExcitationMinus = Node("e-"),
        SignalPlus = Node("s+"),
        SignalMinus = Node("s-"),
    };

    public static IonSelectiveElectrode IonSelective(int charge, double detectionLimit = 0) => new()
    {
        Charge = charge,
        Slope = Exact("slope", Dimension.Ratio, 0.97),
        Potential = About("potential", Dimension.Voltage, 0.02, 0.01),
        ReferenceConcentration = 1,
        DetectionLimit = detectionLimit,
        Resistance = Exact("resistance", Dimension.Resistance, 10e6),
        PotentialDrift = About("drift", Dimension.VoltageRate, 0, 1e-3 / 86400),
        Plus = Node("p"),
        Minus = Node("n"),
    };

    public static ThermistorSensor Thermistor(bool beta) => new()
    {
        Resistance = About("resistance", Dimension.Resistance, 10e3, 100),
        Beta = beta ? About("beta", Dimension.TemperatureDifference, 3977, 30) : null,
        Law = beta ? ThermistorLaw.FromBeta(10e3, 25, 3977) : ThermistorLaw.FromFourTerms(10e3, 3.3539438e-3, 2.5646095e-4, 2.5158166e-6, 1.0503069e-7),
        Plus = Node("p"),
        Minus = Node("n"),
    };
}

/// <summary>Solves the little networks of sensors for the tests, by nodal analysis with dense elimination: resistors, voltage and current sources and links.</summary>
internal sealed class BenchNetwork(IUnitState state) : INetworkSink
{
    private readonly List<(string A, string B, double Ohms)> _resistors = [];
    private readonly List<(string A, string B, double Volts)> _sources = [];
    private readonly List<(string From, string To, double Amperes)> _currents = [];

    public IReadOnlyList<(string A, string B, double Ohms)> Resistors => _resistors;

    public void Resistor(string name, string a, string b, Law ohms) => _resistors.Add((a, b, ohms(state)));

    public void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null) => _sources.Add((plus, minus, volts(state)));

    public void CurrentSource(string name, string from, string to, Law amperes) => _currents.Add((from, to, amperes(state)));

    public void Link(string name, string a, string b) => _sources.Add((a, b, 0));

    /// <summary>Voltages of all nodes above <paramref name="ground"/>.</summary>
    public Dictionary<string, double> Solve(string ground)
    {
        string[] nodes = [.. _resistors.SelectMany(r => new[] { r.A, r.B }).Concat(_sources.SelectMany(s => new[] { s.A, s.B }))
            .Concat(_currents.SelectMany(c => new[] { c.From, c.To })).Distinct().Where(n => n != ground)];
        int n = nodes.Length, size = n + _sources.Count;
        double[,] m = new double[size, size + 1];
        int Index(string node) => Array.IndexOf(nodes, node);
        void Add(int row, int column, double value)
        {
            if (row >= 0 && column >= 0)
            {
                m[row, column] += value;
            }
        }

        foreach ((string a, string b, double ohms) in _resistors)
        {
            int i = Index(a), j = Index(b);
            Add(i, i, 1 / ohms);
            Add(j, j, 1 / ohms);
            Add(i, j, -1 / ohms);
            Add(j, i, -1 / ohms);
        }

        foreach ((string from, string to, double amperes) in _currents)
        {
            Add(Index(from), size, -amperes);
            Add(Index(to), size, amperes);
        }

        for (int k = 0; k < _sources.Count; k++)
        {
            (string a, string b, double volts) = _sources[k];
            Add(Index(a), n + k, 1);
            Add(Index(b), n + k, -1);
            Add(n + k, Index(a), 1);
            Add(n + k, Index(b), -1);
            m[n + k, size] = volts;
        }

        for (int c = 0; c < size; c++)
        {
            int pivot = Enumerable.Range(c, size - c).MaxBy(r => Math.Abs(m[r, c]));
            for (int k = c; k <= size; k++)
            {
                (m[c, k], m[pivot, k]) = (m[pivot, k], m[c, k]);
            }

            for (int r = 0; r < size; r++)
            {
                double factor = r == c ? 0 : m[r, c] / m[c, c];
                for (int k = c; factor != 0 && k <= size; k++)
                {
                    m[r, k] -= factor * m[c, k];
                }
            }
        }

        Dictionary<string, double> volts2 = new() { [ground] = 0 };
        for (int i = 0; i < n; i++)
        {
            volts2[nodes[i]] = m[i, size] / m[i, i];
        }

        return volts2;
    }

    public void Capacitor(string name, string a, string b, Law farads) => throw new NotSupportedException();

    public void Inductor(string name, string a, string b, Law henries) => throw new NotSupportedException();

    public void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws) => throw new NotSupportedException();

    public void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws) =>
        throw new NotSupportedException();

    public void IsolationAmplifier(string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws) =>
        throw new NotSupportedException();

    public void Diode(string name, string anode, string cathode, DiodeLaws laws) => throw new NotSupportedException();

    public void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws) => throw new NotSupportedException();
}
