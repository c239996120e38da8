namespace Throughline.Instruments;

/// <summary>Laws that many parts need, and how the figures of a data sheet become parameters.</summary>
internal static class Laws
{
    public const string AgeingKey = "ages";

    /// <summary>The parameter as it is in this unit.</summary>
    public static Law Of(Parameter parameter) => state => state.Value(parameter);

    /// <summary>The parameter's law; null without one.</summary>
    public static Law? OrNull(Parameter? parameter) => parameter is null ? null : Of(parameter);

    /// <summary>The parameter times one more than a ratio about zero; without the ratio the parameter itself.</summary>
    public static Law Raised(Parameter parameter, Parameter? ratio) =>
        ratio is null ? Of(parameter) : state => state.Value(parameter) * (1 + state.Value(ratio));

    /// <summary>A value that drifts with the time since the calibration; without a drift the value itself.</summary>
    /// <param name="ageing">Share per second.</param>
    public static Law Aged(Law value, Parameter? ageing) =>
        ageing is null ? value : state => Aged(value(state), ageing, state);

    /// <summary>The same at one moment.</summary>
    public static double Aged(double value, Parameter? ageing, IUnitState state) =>
        ageing is null ? value : value * (1 + (state.Value(ageing) * state.AgeSeconds));

    /// <summary>What stands under the key that says how a value ages; null when nothing does.</summary>
    public static Parameter? Ageing(MapView map, string owner, string key = AgeingKey) => Make(map, owner, key, EitherSign, "ageing");

    public static Law Constant(double value) => _ => value;

    /// <summary>
    /// An error whose sign nobody knows, such as an offset: about zero, its greatest stated size to either side. The typical size is no mean, so it
    /// doesn't move the nominal unit.
    /// </summary>
    public static Quantity EitherSign(Quantity quantity)
    {
        double size = Math.Max(Math.Abs(Finite(quantity.High, quantity.Value)), Math.Abs(Finite(quantity.Low, quantity.Value)));
        return quantity with { Value = 0, Low = -size, High = size };
    }

    /// <summary>
    /// A current whose typical value is stated and that may have either sign: nominal is the typical value, zero when only a maximum is stated.
    /// A range, or a value with its tolerance, states the sign and is taken as it stands.
    /// </summary>
    public static Quantity TypicalOfEitherSign(ParsedQuantity parsed, Quantity quantity)
    {
        if (parsed.IsRange || parsed.IsAlone || (!parsed.HasTypical && !parsed.HasMaximum && !parsed.HasMinimum && !quantity.IsExact))
        {
            return quantity;
        }

        double size = Math.Max(Math.Abs(Finite(quantity.High, quantity.Value)), Math.Abs(quantity.Value));
        double nominal = double.IsNegativeInfinity(quantity.Low) ? 0 : quantity.Value;
        return quantity with { Value = nominal, Low = -size, High = size };
    }

    /// <summary>A quantity with an open end: the open end is the stated value.</summary>
    public static Quantity Closed(Quantity quantity) =>
        quantity with { Low = Finite(quantity.Low, quantity.Value), High = Finite(quantity.High, quantity.Value) };

    /// <summary>The error that a rejection ratio leaves: its reciprocal at the least stated ratio, of either sign.</summary>
    public static Quantity RejectionError(Quantity ratio)
    {
        double error = 1 / Finite(ratio.Low, ratio.Value);
        return ratio with { Value = 0, Low = -error, High = error, Drift = 0, SignedDrift = 0 };
    }

    /// <summary>A parameter made from what stands under a key of a grade; null when nothing does.</summary>
    public static Parameter? Make(MapView? map, string owner, string key, Func<Quantity, Quantity> with, string? name = null) =>
        map?.Quantity(key) is { } quantity ? new Parameter(owner, name ?? key, with(quantity)) : null;

    private static double Finite(double value, double otherwise) => double.IsFinite(value) ? value : otherwise;
}
