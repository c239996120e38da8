using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class IsolationAmplifierKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "isolation amplifier",
        "An amplifier whose output is isolated from its input.",
        [
            Key.Required("isolation amplifier", Grades.Shape(Grades.IsolationAmplifier), "Grade from the parts library, or its figures."),
            Key.Required("gain", Shapes.Quantity(UnitSets.Gain, f => f.OrBare().WithDrift().Positive()), "Gain. Its tolerance adds to the grade's gain error."),
            Key.Required("input", Shapes.Pair, "Positive and negative input."),
            Key.Required("output", Shapes.Pair, "Positive and negative output."),
            .. IsolationReader.PartKeys.Select(k => k with { Default = "the grade's" }),
        ])
    {
        Example = "U3: { isolation amplifier: capacitive, gain: 1, input: [sig, 0V], output: [iso, L0], withstands: 1.5 kV }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (Grades.Read(map, "isolation amplifier") is not { } grade || map.Parameter(name.Value, "gain") is not { } gain
            || map.Pair("input") is not var (inputPlus, inputMinus) || map.Pair("output") is not var (outputPlus, outputMinus))
        {
            return null;
        }

        List<Parameter> parameters = [gain];
        Parameter? Make(string key, Func<Quantity, Quantity> with)
        {
            Parameter? parameter = Laws.Make(grade, name.Value, key, with);
            if (parameter is not null)
            {
                parameters.Add(parameter);
            }

            return parameter;
        }

        Parameter? gainError = Make("gain error", Laws.EitherSign);
        Parameter? inputOffset = Make("input offset", Laws.EitherSign);
        Parameter? outputOffset = Make("output offset", Laws.EitherSign);
        Parameter? inputResistance = Make("input resistance", Laws.Closed);
        Parameter? outputResistance = Make("output resistance", Laws.Closed);
        Parameter? bandwidth = Make("bandwidth", Laws.Closed);
        MapView? noise = grade.Inner("noise");
        Parameter? MakeNoise(string key)
        {
            Parameter? parameter = Laws.Make(noise, name.Value, key, Laws.Closed, "noise " + key);
            if (parameter is not null)
            {
                parameters.Add(parameter);
            }

            return parameter;
        }

        NoiseLaws noiseLaws = new() { Voltage = Laws.OrNull(MakeNoise("voltage")), Corner = Laws.OrNull(MakeNoise("corner")) };
        QuantityRange? input = grade.Range("input range");
        QuantityRange? output = grade.Range("output range");
        return new IsolationAmplifier
        {
            Name = name,
            Span = map.Span,
            InputPlus = inputPlus,
            InputMinus = inputMinus,
            OutputPlus = outputPlus,
            OutputMinus = outputMinus,
            Grade = map.Text("isolation amplifier"),
            GradePrice = PriceReader.Read(grade.Raw("cost"), map.Context.Sink),
            Gain = gain,
            Withstands = map.Quantity(IsolationReader.Withstands) ?? grade.Quantity(IsolationReader.Withstands),
            Insulation = IsolationReader.ReadPart(map, grade),
            InputRange = input,
            OutputRange = output,
            AllParameters = [.. parameters],
            Laws = new IsolationAmplifierLaws
            {
                Gain = gainError is null ? Instruments.Laws.Of(gain) : state => state.Value(gain) * (1 + state.Value(gainError)),
                InputOffset = Instruments.Laws.OrNull(inputOffset),
                OutputOffset = Instruments.Laws.OrNull(outputOffset),
                InputResistance = Instruments.Laws.OrNull(inputResistance),
                OutputResistance = Instruments.Laws.OrNull(outputResistance),
                InputLow = input is null ? null : Instruments.Laws.Constant(input.Low),
                InputHigh = input is null ? null : Instruments.Laws.Constant(input.High),
                OutputLow = output is null ? null : Instruments.Laws.Constant(output.Low),
                OutputHigh = output is null ? null : Instruments.Laws.Constant(output.High),
                Bandwidth = Instruments.Laws.OrNull(bandwidth),
                Noise = noiseLaws,
            },
        };
    }
}

/// <summary>An isolation amplifier.</summary>
public sealed record IsolationAmplifier : Part, IBarrier
{
    public required Located<string> InputPlus { get; init; }

    public required Located<string> InputMinus { get; init; }

    public required Located<string> OutputPlus { get; init; }

    public required Located<string> OutputMinus { get; init; }

    /// <summary>V/V.</summary>
    public required Parameter Gain { get; init; }

    public Quantity? Withstands { get; init; }

    public Insulation Insulation { get; init; } = new();

    /// <summary>Input voltage for linear operation, V; null when not said.</summary>
    public QuantityRange? InputRange { get; init; }

    /// <summary>Output voltage at which it clamps, V; null when not said.</summary>
    public QuantityRange? OutputRange { get; init; }

    public required IsolationAmplifierLaws Laws { get; init; }

    public override string Kind => "isolation amplifier";

    public override ImmutableArray<Terminal> Terminals =>
        [new("input plus", InputPlus), new("input minus", InputMinus), new("output plus", OutputPlus), new("output minus", OutputMinus)];

    public ImmutableArray<Terminal> FirstSide => [new("input plus", InputPlus), new("input minus", InputMinus)];

    public override ImmutableArray<Parameter> Parameters => AllParameters;

    internal ImmutableArray<Parameter> AllParameters { get; init; } = [];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.IsolationAmplifier(Name.Value, InputPlus.Value, InputMinus.Value, OutputPlus.Value, OutputMinus.Value, Laws);
}
