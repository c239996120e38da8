namespace Throughline.Instruments;

/// <summary>The keys that a current loop and a voltage output have in common, with the values of the one or the other.</summary>
internal sealed class OutputShapes
{
    public static readonly MapShape Cable = new(
        "cable",
        "Two cores of plain copper to the receiver. Their resistance is the greatest that IEC 60228 allows.",
        [.. CableKeys()]);

    private readonly OutputSignal _signal;
    private readonly UnitSet _units;
    private readonly QuantityShape _value;

    private OutputShapes(OutputSignal signal, UnitSet units, QuantityShape value, Words words)
    {
        (_signal, _units, _value) = (signal, units, value);
        string noun = signal.Noun;
        Scale = Key.Required(
            "scale", new DictionaryShape($"two or more points such as {words.Scale}", Shapes.Measurand, _value, 2), $"Measurand against {noun}.");
        Limits = Key.Optional(
            "limits",
            new MapShape(
                $"{signal.Place} limits",
                $"{words.Plural} at the edges of the signal.",
                Key.Optional("under", _value, $"Least {noun} while measuring."),
                Key.Optional("over", _value, $"Greatest {noun} while measuring."),
                Key.Optional("failure", _value, $"{words.Single} that signals a failure.")),
            $"{words.Plural} at the edges of the signal.");
        Test = Key.Optional("test", Shapes.Quantity(units, f => words.Signed(f).AsRange(words.Test)), $"{words.Plural} that the output test sets.");
        Trim = Key.Optional("trim", TrimOf(words), $"Trim of the output at two {noun}s.", "none");
        Noise = Key.Optional("noise", Shapes.Quantity(units, f => f.Positive()), $"Greatest noise and ripple of the {noun}, peak to peak, that the receiver takes.");
    }

    public static OutputShapes Current { get; } = new(
        OutputSignal.Current,
        UnitSets.Current,
        Shapes.Quantity(UnitSets.Current),
        new Words("Current", "Currents", "{ 3.00 pH: 4 mA, 9.00 pH: 20 mA }", "0 .. 24 mA", "trim: { low: 4 mA, high: 20 mA, meter: 4.5 digit, accept: ±0.5 mA }", "1 µA", "in the loop", "`ammeter`", f => f));

    public static OutputShapes Voltage { get; } = new(
        OutputSignal.Voltage,
        UnitSets.Voltage,
        Shapes.Quantity(UnitSets.Voltage, f => f.WithSign()),
        new Words(
            "Voltage", "Voltages", "{ 3.00 pH: 0 V, 9.00 pH: 10 V }", "0 .. 10.5 V", "trim: { low: 1 V, high: 10 V, meter: 4.5 digit, accept: ±0.3 V }", "1 mV", "at the terminals", "`meter`", f => f.WithSign()));

    public Key Scale { get; }

    public Key Limits { get; }

    public Key Test { get; }

    public Key Trim { get; }

    public Key Noise { get; }

    /// <summary>The cable as both know it.</summary>
    public static IEnumerable<Key> CableKeys() =>
    [
        Key.Required("length", Shapes.Quantity(UnitSets.Length, f => f.Positive()), "Greatest length, one way."),
        Key.Required("area", Shapes.Quantity(UnitSets.Area, f => f.Positive()), "Nominal cross section of a core, one of those of IEC 60228."),
        Key.Optional("class", new WordShape("1", "2", "5", "6"), "Class of the conductor by IEC 60228: 1 solid, 2 stranded, 5 flexible, 6 very flexible.", "2"),
        Key.Optional(
            "temperature", Shapes.Quantity(UnitSets.Temperature, f => f.WithSign().OrRange().Saying("a range such as −20 .. 50 °C")), "Temperature along its way.", "20 °C"),
    ];

    private MapShape TrimOf(Words words) => new(
        _signal.IsVoltage ? "voltage trim" : "trim",
        $"Trim of the output at two {_signal.Noun}s, after the adjustment: the instrument gives each, a person enters what the meter {words.Where} shows, the code works out an offset and a gain. "
            + $"The errors of that meter are those of {words.Meter} under `bench`. Counted in every figure of accuracy.",
        Key.Required("low", _value, $"The lower {_signal.Noun} that is asked for."),
        Key.Required("high", _value, "The higher one."),
        Key.Required("meter", Shapes.Quantity(UnitSets.Digits, f => f.Between(2, 9)), "Digits of the meter."),
        Key.Required("accept", Shapes.Quantity(_units, f => f.OnlyTolerance()), $"How far what is shown may be from what is asked for; less than half of what lies between the two {_signal.Noun}s."),
        Key.Optional("step", Shapes.Quantity(_units, f => f.Positive()), "What is shown is entered in whole steps of this; it counts where the meter tells less apart.", words.Step))
    {
        Example = words.Trim,
    };

    /// <summary>What the texts say of the one or the other.</summary>
    private sealed record Words(string Single, string Plural, string Scale, string Test, string Trim, string Step, string Where, string Meter, Func<QuantityForm, QuantityForm> Signed);
}
