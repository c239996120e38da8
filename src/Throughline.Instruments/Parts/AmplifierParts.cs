using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What amplifiers with supply pins have in common: their currents and limits as parameters of one instance.</summary>
internal sealed class AmplifierParts
{
    private readonly List<Parameter> _parameters = [];
    private readonly MapView _grade;
    private readonly string _owner;

    public AmplifierParts(string owner, MapView grade)
    {
        _owner = owner;
        _grade = grade;
        if (grade.Parsed("bias current") is var (parsed, node))
        {
            Bias = Add(new Parameter(owner, "bias current", Laws.TypicalOfEitherSign(parsed, parsed.ToQuantity(node.Span, node.Text))));
        }

        OffsetCurrent = Make("offset current", Laws.EitherSign);
        Doubling = grade.Quantity("bias doubles every")?.Value;
        CommonMode = Make("common-mode rejection", Laws.RejectionError, "common-mode error");
        SupplyError = Make("supply rejection", Laws.RejectionError, "supply error");
        SupplyErrorCorner = SupplyError is null ? null : grade.Quantity("supply rejection corner")?.Value;
        SupplyCurrent = Make("supply current", Laws.Closed);
        NominalSupply = grade.Quantity("stated at")?.Value ?? grade.Range("supply")?.Middle;
        Limits = ReadLimits();
        Bandwidth = Instruments.Laws.OrNull(Make("bandwidth", Laws.Closed));
        SlewRate = Instruments.Laws.OrNull(Make("slew", Laws.Closed, "slew rate"));
        MapView? noise = grade.Inner("noise");
        Noise = new NoiseLaws
        {
            Voltage = Law(noise, "voltage", "noise voltage"),
            Corner = Law(noise, "corner", "noise corner"),
            Current = Law(noise, "current", "noise current"),
        };
    }

    public Parameter? Bias { get; }

    public Parameter? OffsetCurrent { get; }

    /// <summary>K; null when the currents don't depend on temperature.</summary>
    public double? Doubling { get; }

    public Parameter? CommonMode { get; }

    public Parameter? SupplyError { get; }

    /// <summary>Hz; null where the supply rejection does not fall with frequency.</summary>
    public double? SupplyErrorCorner { get; }

    public Parameter? SupplyCurrent { get; }

    public double? NominalSupply { get; }

    public AmplifierLimits Limits { get; }

    /// <summary>Gain–bandwidth product of an op amp, bandwidth of another amplifier, Hz.</summary>
    public Law? Bandwidth { get; }

    public Law? SlewRate { get; }

    public NoiseLaws Noise { get; }

    public ImmutableArray<Parameter> Parameters => [.. _parameters];

    /// <summary>A parameter from a key of the grade.</summary>
    public Parameter? Make(string key, Func<Quantity, Quantity> with, string? name = null) =>
        Laws.Make(_grade, _owner, key, with, name) is { } parameter ? Add(parameter) : null;

    public Parameter Add(Parameter parameter)
    {
        _parameters.Add(parameter);
        return parameter;
    }

    /// <summary>Current into an input: the bias current and half the offset current, risen with ambient temperature.</summary>
    /// <param name="share">+0.5 at the non-inverting input, −0.5 at the inverting one.</param>
    public Law? InputCurrent(double share)
    {
        Parameter? bias = Bias;
        Parameter? offset = OffsetCurrent;
        if (bias is null && offset is null)
        {
            return null;
        }

        double doubling = Doubling ?? double.PositiveInfinity;
        return state =>
        {
            double at25 = (bias is null ? 0 : state.Value(bias)) + (offset is null ? 0 : share * state.Value(offset));
            return at25 * Math.Pow(2, (state.AmbientCelsius - 25) / doubling);
        };
    }

    private AmplifierLimits ReadLimits()
    {
        MapView? swing = _grade.Inner("output swing");
        MapView? range = _grade.Inner("input range");
        Law? current = Law(_grade, "output current", "output current");
        return new AmplifierLimits
        {
            SwingBelowPositive = Law(swing, "below positive", "output swing below positive"),
            SwingAboveNegative = Law(swing, "above negative", "output swing above negative"),
            SourceCurrent = current,
            SinkCurrent = current,
            InputBelowPositive = Law(range, "below positive", "input range below positive"),
            InputAboveNegative = Law(range, "above negative", "input range above negative"),
            SupplyCurrent = Laws.OrNull(SupplyCurrent),
        };
    }

    private Law? Law(MapView? map, string key, string name) =>
        Laws.Make(map, _owner, key, Laws.Closed, name) is { } parameter ? Laws.Of(Add(parameter)) : null;
}
