using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class InstrumentationAmplifierKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "instrumentation amplifier",
        "An instrumentation amplifier of a grade: output = reference + gain × (plus − minus).",
        Key.Required("instrumentation amplifier", Grades.Shape(Grades.InstrumentationAmplifier), "Grade from the parts library, or its figures."),
        Key.Required("gain", Shapes.Quantity(UnitSets.Gain, f => f.OrBare().WithDrift().Positive()), "Gain. Its tolerance adds to the grade's gain error."),
        Key.Required("plus", Shapes.Node, "Non-inverting input."),
        Key.Required("minus", Shapes.Node, "Inverting input."),
        Key.Required("out", Shapes.Node, "Output."),
        Key.Required("reference", Shapes.Node, "The node that the output refers to."),
        Key.Required("supply", Shapes.Pair, "Positive and negative supply."))
    {
        Example = "U2: { instrumentation amplifier: precision, gain: 100, plus: sp, minus: sn, out: amp, reference: 0V, supply: [P5, N5] }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (Grades.Read(map, "instrumentation amplifier") is not { } grade || map.Parameter(name.Value, "gain") is not { } gain
            || map.Node("plus") is not { } plus || map.Node("minus") is not { } minus || map.Node("out") is not { } output
            || map.Node("reference") is not { } reference || map.Pair("supply") is not var (positive, negative))
        {
            return null;
        }

        AmplifierParts parts = new(name.Value, grade);
        parts.Add(gain);
        Parameter? gainError = parts.Make("gain error", Laws.EitherSign);
        Parameter? inputOffset = parts.Make("input offset", Laws.EitherSign);
        Parameter? outputOffset = parts.Make("output offset", Laws.EitherSign);
        return new InstrumentationAmplifier
        {
            Name = name,
            Span = map.Span,
            Plus = plus,
            Minus = minus,
            Output = output,
            Reference = reference,
            PositiveSupply = positive,
            NegativeSupply = negative,
            Grade = map.Text("instrumentation amplifier"),
            GradePrice = PriceReader.Read(grade.Raw("cost"), map.Context.Sink),
            Gain = gain,
            Bias = parts.Bias,
            SupplyRange = grade.Range("supply"),
            AllParameters = parts.Parameters,
            Laws = new InstrumentationAmplifierLaws
            {
                Gain = gainError is null ? Instruments.Laws.Of(gain) : state => state.Value(gain) * (1 + state.Value(gainError)),
                InputOffset = Instruments.Laws.OrNull(inputOffset),
                OutputOffset = Instruments.Laws.OrNull(outputOffset),
                BiasPlus = parts.InputCurrent(0.5),
                BiasMinus = parts.InputCurrent(-0.5),
                CommonModeError = Instruments.Laws.OrNull(parts.CommonMode),
                SupplyError = parts.NominalSupply is null ? null : Instruments.Laws.OrNull(parts.SupplyError),
                SupplyErrorCorner = parts.SupplyErrorCorner,
                NominalSupply = parts.NominalSupply is { } volts ? Instruments.Laws.Constant(volts) : null,
                Bandwidth = parts.Bandwidth,
                SlewRate = parts.SlewRate,
                Noise = parts.Noise,
                Limits = parts.Limits,
            },
        };
    }
}

/// <summary>An instrumentation amplifier.</summary>
public sealed record InstrumentationAmplifier : Part, IAmplifier
{
    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    public required Located<string> Output { get; init; }

    public required Located<string> Reference { get; init; }

    public required Located<string> PositiveSupply { get; init; }

    public required Located<string> NegativeSupply { get; init; }

    /// <summary>V/V.</summary>
    public required Parameter Gain { get; init; }

    public Parameter? Bias { get; init; }

    /// <summary>Voltage that it may have between its supplies, V; null when not said.</summary>
    public QuantityRange? SupplyRange { get; init; }

    public required InstrumentationAmplifierLaws Laws { get; init; }

    public override string Kind => "instrumentation amplifier";

    public override ImmutableArray<Terminal> Terminals =>
    [
        new("plus", Plus), new("minus", Minus), new("out", Output), new("reference", Reference), new("positive supply", PositiveSupply),
        new("negative supply", NegativeSupply),
    ];

    public override ImmutableArray<Parameter> Parameters => AllParameters;

    internal ImmutableArray<Parameter> AllParameters { get; init; } = [];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.InstrumentationAmplifier(Name.Value, Plus.Value, Minus.Value, Output.Value, Reference.Value, PositiveSupply.Value, NegativeSupply.Value, Laws);
}
