using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>How the saturation current of a junction rises with temperature.</summary>
internal static class Junction
{
    /// <summary>Silicon's energy gap over the elementary charge at 300 K, V, as customary in device models.</summary>
    public const double SiliconBandgapVolts = 1.11;

    /// <summary>Boltzmann constant over elementary charge, V/K (SI, exact since 2019).</summary>
    private const double VoltsPerKelvin = 1.380649e-23 / 1.602176634e-19;

    private const double Reference = 298.15;

    /// <summary>Is(T) = Is(25 °C) (T/T₀)^(3/n) exp(Eg/(n k) (1/T₀ − 1/T)): the usual temperature law of a junction (S. M. Sze, Physics of
    /// Semiconductor Devices, from memory).</summary>
    public static Law SaturationCurrent(Parameter at25, Func<IUnitState, double> emission, double bandgapVolts) => state =>
    {
        double kelvin = state.AmbientCelsius + 273.15;
        double n = emission(state);
        return state.Value(at25) * Math.Pow(kelvin / Reference, 3 / n)
            * Math.Exp(bandgapVolts / (n * VoltsPerKelvin) * ((1 / Reference) - (1 / kelvin)));
    };
}

internal sealed class DiodeKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "diode",
        "A diode of a grade.",
        Key.Required("diode", Grades.Shape(Grades.Diode), "Grade from the parts library, or its figures."),
        Key.Required("anode", Shapes.Node, "Anode."),
        Key.Required("cathode", Shapes.Node, "Cathode."))
    {
        Example = "D1: { diode: low leakage, anode: in, cathode: A5 }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        Grades.Read(map, "diode") is { } grade && map.Node("anode") is { } anode && map.Node("cathode") is { } cathode
            ? Create("diode", name, map, grade, anode, cathode, null)
            : null;

    /// <param name="breakdown">Takes the place of the grade's.</param>
    public static Diode? Create(string kind, Located<string> name, MapView map, MapView grade, Located<string> anode, Located<string> cathode, Parameter? breakdown)
    {
        if (Laws.Make(grade, name.Value, "saturation current", Laws.Closed) is not { } saturation)
        {
            return null;
        }

        Parameter? emission = grade.Parameter(name.Value, "emission", "emission coefficient");
        Parameter? series = Laws.Make(grade, name.Value, "series resistance", Laws.Closed);
        breakdown ??= Laws.Make(grade, name.Value, "breakdown", Laws.Closed, "breakdown voltage");
        return new Diode(kind)
        {
            Name = name,
            Span = map.Span,
            Anode = anode,
            Cathode = cathode,
            Grade = kind == "diode" ? map.Text("diode") : null,
            GradePrice = kind == "diode" ? PriceReader.Read(grade.Raw("cost"), map.Context.Sink) : null,
            AllParameters = [.. new[] { saturation, emission, series, breakdown }.OfType<Parameter>()],
            Rating = PowerRating.Of(grade),
            Laws = new DiodeLaws
            {
                SaturationCurrent = Junction.SaturationCurrent(
                    saturation, state => emission is null ? 1 : state.Value(emission), grade.Quantity("bandgap")?.Value ?? Junction.SiliconBandgapVolts),
                Emission = emission is null ? Laws.Constant(1) : Laws.Of(emission),
                SeriesResistance = Laws.OrNull(series),
                Breakdown = Laws.OrNull(breakdown),
            },
        };
    }
}

internal sealed class ZenerKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "zener",
        "A breakdown diode.",
        Key.Required("zener", Shapes.Quantity(UnitSets.Voltage, f => f.WithDrift().Positive()), "Breakdown voltage."),
        Key.Required("anode", Shapes.Node, "Anode."),
        Key.Required("cathode", Shapes.Node, "Cathode, the more positive one in breakdown."))
    {
        Example = "D2: { zener: 5.1 V ±5 %, anode: 0V, cathode: in }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (map.Parameter(name.Value, "zener", "breakdown voltage") is not { } breakdown || map.Node("anode") is not { } anode
            || map.Node("cathode") is not { } cathode || PartsLibrary.Generic.Grade("diode", "small signal") is not { } forward)
        {
            return null;
        }

        return DiodeKind.Create("zener", name, map, new MapView(forward, Grades.Diode, map.Context), anode, cathode, breakdown);
    }
}

internal sealed class TransistorKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "transistor",
        "A bipolar transistor of a grade.",
        Key.Required("transistor", Grades.Shape(Grades.Transistor), "Grade from the parts library, or its figures."),
        Key.Required("collector", Shapes.Node, "Collector."),
        Key.Required("base", Shapes.Node, "Base."),
        Key.Required("emitter", Shapes.Node, "Emitter."))
    {
        Example = "Q1: { transistor: npn small signal, collector: loop+, base: drive, emitter: sense }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (Grades.Read(map, "transistor") is not { } grade || map.Node("collector") is not { } collector || map.Node("base") is not { } @base
            || map.Node("emitter") is not { } emitter || grade.Word("polarity") is not { } polarity
            || Laws.Make(grade, name.Value, "current gain", Laws.Closed) is not { } forward)
        {
            return null;
        }

        // 10 fA is in the range of small silicon transistors (from memory); it moves the base–emitter voltage by 60 mV per decade and little else.
        Parameter saturation = Laws.Make(grade, name.Value, "saturation current", Laws.Closed)
            ?? new Parameter(name.Value, "saturation current", Quantity.Exact(Dimension.Current, 10e-15));

        // A reverse gain of 4 is in the range of small planar transistors (from memory); it matters only deep in saturation.
        Parameter reverse = grade.Parameter(name.Value, "reverse gain") ?? new Parameter(name.Value, "reverse gain", Quantity.Exact(Dimension.Ratio, 4));
        Parameter? saturationVoltage = Laws.Make(grade, name.Value, "saturation voltage", Laws.Closed);
        return new Transistor
        {
            Name = name,
            Span = map.Span,
            Collector = collector,
            Base = @base,
            Emitter = emitter,
            Grade = map.Text("transistor"),
            GradePrice = PriceReader.Read(grade.Raw("cost"), map.Context.Sink),
            IsNpn = polarity.Value == "npn",
            AllParameters = [.. new[] { forward, reverse, saturation, saturationVoltage }.OfType<Parameter>()],
            Rating = PowerRating.Of(grade),
            Laws = new BipolarLaws
            {
                SaturationCurrent = Junction.SaturationCurrent(saturation, _ => 1, grade.Quantity("bandgap")?.Value ?? Junction.SiliconBandgapVolts),
                ForwardGain = Laws.Of(forward),
                ReverseGain = Laws.Of(reverse),
                SaturationVoltage = Laws.OrNull(saturationVoltage),
            },
        };
    }
}

/// <summary>A diode or breakdown diode.</summary>
public sealed record Diode(string KindWord) : Part, IRated
{
    public required Located<string> Anode { get; init; }

    public required Located<string> Cathode { get; init; }

    public required DiodeLaws Laws { get; init; }

    public PowerRating? Rating { get; init; }

    public override string Kind => KindWord;

    public override ImmutableArray<Terminal> Terminals => [new("anode", Anode), new("cathode", Cathode)];

    public override ImmutableArray<Parameter> Parameters => AllParameters;

    internal ImmutableArray<Parameter> AllParameters { get; init; } = [];

    public override void Describe(INetworkSink sink, IPartSettings settings) => sink.Diode(Name.Value, Anode.Value, Cathode.Value, Laws);
}

/// <summary>A bipolar transistor.</summary>
public sealed record Transistor : Part, IRated
{
    public required Located<string> Collector { get; init; }

    public required Located<string> Base { get; init; }

    public required Located<string> Emitter { get; init; }

    public required bool IsNpn { get; init; }

    public required BipolarLaws Laws { get; init; }

    public PowerRating? Rating { get; init; }

    public override string Kind => "transistor";

    public override ImmutableArray<Terminal> Terminals => [new("collector", Collector), new("base", Base), new("emitter", Emitter)];

    public override ImmutableArray<Parameter> Parameters => AllParameters;

    internal ImmutableArray<Parameter> AllParameters { get; init; } = [];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.Bipolar(Name.Value, Collector.Value, Base.Value, Emitter.Value, IsNpn, Laws);
}
