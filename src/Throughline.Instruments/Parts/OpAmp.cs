using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class OpAmpKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "op amp",
        "An operational amplifier of a grade.",
        Key.Required("op amp", Grades.Shape(Grades.OpAmp), "Grade from the parts library, or its figures."),
        Key.Required("plus", Shapes.Node, "Non-inverting input."),
        Key.Required("minus", Shapes.Node, "Inverting input."),
        Key.Required("out", Shapes.Node, "Output."),
        Key.Required("supply", Shapes.Pair, "Positive and negative supply."))
    {
        Example = "U1: { op amp: cmos low bias, plus: probe, minus: fb, out: amp, supply: [A5, 0V] }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (Grades.Read(map, "op amp") is not { } grade || map.Node("plus") is not { } plus || map.Node("minus") is not { } minus
            || map.Node("out") is not { } output || map.Pair("supply") is not var (positive, negative))
        {
            return null;
        }

        AmplifierParts parts = new(name.Value, grade);
        Parameter? gain = parts.Make("gain", q => Laws.Closed(q), "open-loop gain");
        Parameter? offset = parts.Make("offset", Laws.EitherSign);
        Parameter? input = parts.Make("input resistance", Laws.Closed);
        Parameter? series = parts.Make("output resistance", Laws.Closed);
        return new OpAmp
        {
            Name = name,
            Span = map.Span,
            Plus = plus,
            Minus = minus,
            Output = output,
            PositiveSupply = positive,
            NegativeSupply = negative,
            Grade = map.Text("op amp"),
            GradePrice = PriceReader.Read(grade.Raw("cost"), map.Context.Sink),
            Bias = parts.Bias,
            SupplyRange = grade.Range("supply"),
            Rating = PowerRating.Of(grade),
            AllParameters = parts.Parameters,
            Laws = new OpAmpLaws
            {
                Gain = Instruments.Laws.OrNull(gain),
                Offset = Instruments.Laws.OrNull(offset),
                BiasPlus = parts.InputCurrent(0.5),
                BiasMinus = parts.InputCurrent(-0.5),
                CommonModeError = Instruments.Laws.OrNull(parts.CommonMode),
                SupplyError = parts.NominalSupply is null ? null : Instruments.Laws.OrNull(parts.SupplyError),
                SupplyErrorCorner = parts.SupplyErrorCorner,
                NominalSupply = parts.NominalSupply is { } volts ? Instruments.Laws.Constant(volts) : null,
                InputResistance = Instruments.Laws.OrNull(input),
                OutputResistance = Instruments.Laws.OrNull(series),
                GainBandwidth = parts.Bandwidth,
                SlewRate = parts.SlewRate,
                Noise = parts.Noise,
                Limits = parts.Limits,
            },
        };
    }
}

/// <summary>An operational amplifier.</summary>
public sealed record OpAmp : Part, IAmplifier, IRated
{
    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    public required Located<string> Output { get; init; }

    public required Located<string> PositiveSupply { get; init; }

    public required Located<string> NegativeSupply { get; init; }

    public Parameter? Bias { get; init; }

    /// <summary>Voltage that it may have between its supplies, V; null when not said.</summary>
    public QuantityRange? SupplyRange { get; init; }

    public PowerRating? Rating { get; init; }

    public required OpAmpLaws Laws { get; init; }

    public override string Kind => "op amp";

    public override ImmutableArray<Terminal> Terminals =>
    [
        new("plus", Plus), new("minus", Minus), new("out", Output), new("positive supply", PositiveSupply), new("negative supply", NegativeSupply),
    ];

    public override ImmutableArray<Parameter> Parameters => AllParameters;

    internal ImmutableArray<Parameter> AllParameters { get; init; } = [];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.OpAmp(Name.Value, Plus.Value, Minus.Value, Output.Value, PositiveSupply.Value, NegativeSupply.Value, Laws);
}
