using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>The kinds of grades that a parts file may hold, and what each may say.</summary>
internal static class Grades
{
    private static readonly QuantityShape Bandwidth = Shapes.Quantity(UnitSets.Frequency, f => f.WithBounds().Positive());
    private static readonly QuantityShape Error = Shapes.Quantity(UnitSets.Voltage, f => f.AsInDataSheet().WithSign());
    private static readonly QuantityShape Rejection = Shapes.Quantity(UnitSets.Rejection, f => f.WithBounds().Positive());
    private static readonly QuantityShape Distance = Shapes.Quantity(UnitSets.Voltage, f => f.WithBounds().WithSign());
    private static readonly QuantityShape Ohms = Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().WithBounds());
    private static readonly QuantityShape Amperes = Shapes.Quantity(UnitSets.Current, f => f.WithBounds());
    private static readonly QuantityShape GainError = Shapes.Quantity(UnitSets.Percent, f => f.AsInDataSheet().WithSign());

    private static readonly MapShape Noise = new(
        "noise",
        "Noise density, white above the corner, rising below it.",
        Key.Optional("voltage", Shapes.Quantity(UnitSets.VoltageNoise), "Voltage density."),
        Key.Optional("corner", Shapes.Quantity(UnitSets.Frequency), "Frequency below which the voltage density rises.", "0 Hz"),
        Key.Optional("current", Shapes.Quantity(UnitSets.CurrentNoise), "Current density of each input."));

    /// <summary>Noise of a source of voltage.</summary>
    public static readonly MapShape SourceNoise = new(
        "noise of a reference",
        "Noise density, white above the corner, rising below it.",
        Key.Required("voltage", Shapes.Quantity(UnitSets.VoltageNoise), "Voltage density."),
        Key.Optional("corner", Shapes.Quantity(UnitSets.Frequency), "Frequency below which the density rises.", "0 Hz"));

    private static readonly MapShape Swing = new(
        "output swing",
        "How near the output comes to its supplies.",
        Key.Optional("below positive", Distance, "Distance from the positive supply."),
        Key.Optional("above negative", Distance, "Distance from the negative supply."));

    private static readonly MapShape InputRange = new(
        "input range",
        "How near the inputs may come to the supplies; negative when they may go beyond.",
        Key.Optional("below positive", Distance, "Distance from the positive supply."),
        Key.Optional("above negative", Distance, "Distance from the negative supply."));

    private static readonly Key BiasCurrent = Key.Optional(
        "bias current",
        Shapes.Quantity(UnitSets.Current, f => f.AsInDataSheet().WithSign().OrRange()),
        "Current into each input at 25 °C. A typical and a maximum value leave the sign open; a range such as 20 .. 80 nA states it.");

    private static readonly Key OffsetCurrent = Key.Optional("offset current", Shapes.Quantity(UnitSets.Current, f => f.AsInDataSheet().WithSign()), "Difference of the two bias currents.");

    private static readonly Key BiasDoubles = Key.Optional(
        "bias doubles every", Shapes.Quantity(UnitSets.TemperatureDifference, f => f.Positive()), "Ambient temperature difference that doubles bias and offset current.");

    private static readonly Key[] Supplied =
    [
        Key.Optional("common-mode rejection", Rejection, "Ratio of a change of the common input voltage to the offset that it makes."),
        Key.Optional("supply rejection", Rejection, "Ratio of a change of the supply to the offset that it makes."),
        Key.Optional(
            "supply rejection corner", Shapes.Quantity(UnitSets.Frequency, f => f.Positive()),
            "Frequency above which the supply rejection falls in proportion to frequency; ripple of the supplies is seen with it.", "it does not fall"),
        Key.Optional("stated at", Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Supply voltage at which the offset is stated.", "the middle of `supply`"),
        Key.Optional("output swing", Swing, "How near the output comes to its supplies."),
        Key.Optional("output current", Amperes, "Greatest current out of and into the output."),
        Key.Optional("input range", InputRange, "How near the inputs may come to the supplies."),
        Key.Optional("supply", Shapes.Quantity(UnitSets.Voltage, f => f.AsRange("2.7 .. 5.5 V")), "Supply voltage, from the negative to the positive pin."),
        Key.Optional("supply current", Amperes, "Supply current without load."),
        Key.Optional("bandwidth", Bandwidth, "Gain–bandwidth product, or bandwidth at the stated gain."),
        Key.Optional("slew", Shapes.Quantity(UnitSets.SlewRate, f => f.WithBounds().Positive()), "Slew rate."),
        Key.Optional("noise", Noise, "Noise."),
        Key.Optional("cost", PriceReader.Price, "Price of one."),
    ];

    /// <summary>Keys of what a part may turn into heat.</summary>
    public const string Dissipation = "dissipation";

    public const string Thermal = "junction";

    public const string JunctionLimit = "junction limit";

    private static readonly Key[] Heat =
    [
        Key.Optional(Dissipation, Shapes.Quantity(UnitSets.Power, f => f.Positive()), "Greatest power at 25 °C ambient and below."),
        Key.Optional(Thermal, Shapes.Quantity(UnitSets.ThermalResistance, f => f.Positive()), "Thermal resistance from junction to ambient.", "from `dissipation` and `junction limit`"),
        Key.Optional(JunctionLimit, Shapes.Quantity(UnitSets.Temperature, f => f.WithSign()), "Greatest temperature of the junction."),
    ];

    public static readonly MapShape OpAmp = new(
        "op amp grade",
        "Figures of an operational amplifier. What is left out is ideal.",
        [
            Key.Optional("gain", Shapes.Quantity(UnitSets.Gain, f => f.OrBare().WithBounds().Positive()), "Open-loop gain at direct current.", "infinite"),
            Key.Optional("offset", Error, "Input offset voltage with its drift."),
            BiasCurrent,
            BiasDoubles,
            OffsetCurrent,
            Key.Optional("input resistance", Ohms, "Between the inputs.", "infinite"),
            Key.Optional("output resistance", Ohms, "Open-loop output resistance.", "0 Ω"),
            .. Supplied,
            .. Heat,
        ]);

    public static readonly MapShape InstrumentationAmplifier = new(
        "instrumentation amplifier grade",
        "Figures of an instrumentation amplifier. What is left out is ideal.",
        [
            Key.Optional("gain error", GainError, "Error of the gain with its drift."),
            Key.Optional("input offset", Error, "Offset at the input."),
            Key.Optional("output offset", Error, "Offset at the output."),
            BiasCurrent,
            BiasDoubles,
            OffsetCurrent,
            .. Supplied,
        ]);

    public static readonly MapShape IsolationAmplifier = new(
        "isolation amplifier grade",
        "Figures of an isolation amplifier. What is left out is ideal.",
        [
            Key.Optional("gain error", GainError, "Error of the gain with its drift."),
            Key.Optional("input offset", Error, "Offset at the input."),
            Key.Optional("output offset", Error, "Offset at the output."),
            Key.Optional("input range", Shapes.Quantity(UnitSets.Voltage, f => f.WithSign().AsRange("-2 .. 2 V")), "Input voltage for linear operation."),
            Key.Optional("output range", Shapes.Quantity(UnitSets.Voltage, f => f.WithSign().AsRange("-10 .. 10 V")), "Output voltage at which it clamps."),
            Key.Optional("input resistance", Ohms, "Between the inputs.", "infinite"),
            Key.Optional("output resistance", Ohms, "In series with the output.", "0 Ω"),
            Key.Optional("nonlinearity", Shapes.Quantity(UnitSets.Percent, f => f.WithBounds().OrToleranceAlone()), "Share of full scale."),
            Key.Optional("bandwidth", Bandwidth, "Bandwidth."),
            Key.Optional("noise", Noise, "Noise at the input."),
            Key.Optional("cost", PriceReader.Price, "Price of one."),
            .. IsolationReader.PartKeys,
        ]);

    public static readonly MapShape Diode = new(
        "diode grade",
        "Figures of a diode in Shockley's law.",
        [
            Key.Required("saturation current", Shapes.Quantity(UnitSets.Current, f => f.WithTolerance().WithBounds().Positive()), "Saturation current at 25 °C."),
            Key.Optional("emission", Shapes.Quantity(UnitSets.Number, f => f.OrBare().WithTolerance().Between(0.5, 10)), "Emission coefficient.", "1"),
            Key.Optional("series resistance", Ohms, "Series resistance.", "0 Ω"),
            Key.Optional("breakdown", Shapes.Quantity(UnitSets.Voltage, f => f.WithTolerance().WithBounds().Positive()), "Reverse voltage at which it conducts.", "never"),
            Key.Optional("bandgap", Shapes.Quantity(UnitSets.Voltage, f => f.Between(0.1, 4)), "Energy gap over the elementary charge; it sets how the saturation current rises with temperature.", "1.11 V, silicon"),
            .. Heat,
            Key.Optional("cost", PriceReader.Price, "Price of one."),
        ]);

    public static readonly MapShape Transistor = new(
        "transistor grade",
        "Figures of a bipolar transistor.",
        [
            Key.Required("polarity", new WordShape("npn", "pnp"), "Polarity."),
            Key.Required("current gain", Shapes.Quantity(UnitSets.Number, f => f.OrBare().WithTolerance().WithBounds().OrRange().Positive()), "Forward current gain."),
            Key.Optional("reverse gain", Shapes.Quantity(UnitSets.Number, f => f.OrBare().WithTolerance().Positive()), "Reverse current gain.", "4"),
            Key.Optional("saturation current", Shapes.Quantity(UnitSets.Current, f => f.WithTolerance().WithBounds().Positive()), "Saturation current at 25 °C.", "10 fA, a small silicon transistor"),
            Key.Optional("saturation voltage", Shapes.Quantity(UnitSets.Voltage, f => f.WithBounds().Positive()), "Collector–emitter voltage below which it no longer controls its current.", "as the equations give"),
            Key.Optional("bandgap", Shapes.Quantity(UnitSets.Voltage, f => f.Between(0.1, 4)), "Energy gap over the elementary charge.", "1.11 V, silicon"),
            .. Heat,
            Key.Optional("cost", PriceReader.Price, "Price of one."),
        ]);

    /// <summary>The key of each kind in a parts file, which is also the key of the part, with what its grades may say.</summary>
    public static readonly ImmutableArray<(string Kind, MapShape Shape)> All =
    [
        ("op amp", OpAmp),
        ("instrumentation amplifier", InstrumentationAmplifier),
        ("isolation amplifier", IsolationAmplifier),
        ("diode", Diode),
        ("transistor", Transistor),
    ];

    /// <summary>A grade's name, or its figures in place.</summary>
    public static EitherShape Shape(MapShape grade) => new(new TextShape("a grade of the parts library"), grade);

    /// <summary>The grade that a part names or states; null, and reported, when the library has none of that name.</summary>
    public static MapView? Read(MapView part, string kind)
    {
        MapShape shape = All.First(g => g.Kind == kind).Shape;
        switch (part.Raw(kind))
        {
            case MapNode map:
                return new MapView(map, shape, part.Context, part.Scope);
            case ScalarNode { Type: not ScalarType.Null } name:
                if (part.Context.Library.Grade(kind, name.Text) is { } found)
                {
                    return new MapView(found, shape, part.Context);
                }

                IReadOnlyCollection<string> known = part.Context.Library.GradeNames(kind);
                part.Report(
                    Codes.UnknownGrade, name.Span, $"The parts library has no {kind} of the grade `{ScalarNode.Short(name.Text)}`.",
                    Nearest.OneOf(known), name.Found, Nearest.Mend(name.Text, known));
                return null;
            default:
                return null;
        }
    }
}
