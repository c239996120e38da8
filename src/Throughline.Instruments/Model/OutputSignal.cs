namespace Throughline.Instruments;

/// <summary>
/// What an instrument puts out: a current through a loop or a voltage between two terminals, with the units and words that go with it. Compared by reference.
/// </summary>
public sealed class OutputSignal
{
    private OutputSignal(Dimension dimension) => Dimension = dimension;

    /// <summary>A current, with the receiver in series.</summary>
    public static OutputSignal Current { get; } = new(Dimension.Current)
    {
        Noun = "current",
        Place = "loop",
        Section = "loop",
        Meter = "the meter in the loop",
        Carries = "the loop carries",
        ShownUnit = "mA",
        ShownScale = 1e-3,
        ShownDecimals = 2,
        FineUnit = "µA",
        FineScale = 1e-6,
        Preset = 0.5e-3,
        ShownWord = "loop current",
        TestWord = "test current",
    };

    /// <summary>A voltage, with the receiver across the terminals.</summary>
    public static OutputSignal Voltage { get; } = new(Dimension.Voltage)
    {
        Noun = "voltage",
        Place = "output",
        Section = "voltage output",
        Meter = "the meter at the terminals",
        Carries = "the output gives",
        ShownUnit = "V",
        ShownScale = 1,
        ShownDecimals = 3,
        FineUnit = "mV",
        FineScale = 1e-3,
        Preset = 0.1,
        ShownWord = "output voltage",
        TestWord = "test voltage",
    };

    /// <summary>Current or voltage.</summary>
    public Dimension Dimension { get; }

    public bool IsVoltage => Dimension == Dimension.Voltage;

    /// <summary>Unit in which it is kept: A or V.</summary>
    public string Unit => QuantityText.UnitOf(Dimension);

    /// <summary><c>current</c> or <c>voltage</c>.</summary>
    public required string Noun { get; init; }

    /// <summary>Where it is, in a word: what findings, tables and the specification call the far end of the chain.</summary>
    public required string Place { get; init; }

    /// <summary>The section of the file that describes it.</summary>
    public required string Section { get; init; }

    /// <summary>What a person trims it with.</summary>
    public required string Meter { get; init; }

    /// <summary>Subject and verb of a sentence that ends in a value of it.</summary>
    public required string Carries { get; init; }

    /// <summary>Unit in which people read it: mA or V.</summary>
    public required string ShownUnit { get; init; }

    /// <summary>One <see cref="ShownUnit"/> in <see cref="Unit"/>.</summary>
    public required double ShownScale { get; init; }

    /// <summary>Decimals in <see cref="ShownUnit"/> with which a value of the scale is read: a step is below a thousandth of the usual spans.</summary>
    public required int ShownDecimals { get; init; }

    /// <summary>Unit in which people read its errors: µA or mV.</summary>
    public required string FineUnit { get; init; }

    /// <summary>One <see cref="FineUnit"/> in <see cref="Unit"/>.</summary>
    public required double FineScale { get; init; }

    /// <summary>Step in which the output test is entered where the file says nothing, in <see cref="Unit"/>.</summary>
    public required double Preset { get; init; }

    /// <summary>What its load is called among the conditions.</summary>
    public string LoadWord => Place + " load";

    /// <summary>The panel's word for what is put out.</summary>
    public required string ShownWord { get; init; }

    /// <summary>The panel's word for what the output test puts out.</summary>
    public required string TestWord { get; init; }
}
