namespace Throughline.Instruments;

/// <summary>Shapes used in many places.</summary>
internal static class Shapes
{
    public static readonly NameShape Node = new("a node");

    public static readonly ListShape Pair = new(Node, 2, 2);

    public static readonly EitherShape NodeOrPair = new(Node, Pair);

    public static readonly TextShape Text = new();

    public static readonly FlagShape Flag = new();

    /// <summary>A resistance above zero with tolerance and drift.</summary>
    public static readonly QuantityShape Resistance = Quantity(UnitSets.Resistance, f => f.WithDrift().Positive());

    /// <summary>A resistance that may be zero, one value or a range.</summary>
    public static readonly QuantityShape ResistanceOrRange = Quantity(UnitSets.Resistance, f => f.WithDrift().OrRange().Between(0, double.PositiveInfinity));

    /// <summary>A voltage of either sign with tolerance and drift.</summary>
    public static readonly QuantityShape Voltage = Quantity(UnitSets.Voltage, f => f.WithDrift().WithSign());

    public static readonly QuantityShape Time = Quantity(UnitSets.Time, f => f.Positive());

    /// <summary>How far a value may drift with time, as a share of it.</summary>
    public static readonly QuantityShape Ageing = Quantity(UnitSets.Ageing, f => f.OnlyTolerance());

    /// <summary>A value of the measurand; the unit may be left out.</summary>
    public static readonly QuantityShape Measurand = Quantity(UnitSets.Measurand, f => f.WithSign().OrBare());

    /// <summary>A value of the measurand with tolerance, one or a range.</summary>
    public static readonly QuantityShape MeasurandOrRange = Quantity(UnitSets.Measurand, f => f.WithTolerance().WithSign().OrBare().OrRange());

    /// <summary>Builds the shape of a quantity.</summary>
    public static QuantityShape Quantity(UnitSet units, Func<QuantityForm, QuantityForm>? with = null)
    {
        QuantityForm form = QuantityForm.Of(units);
        return new QuantityShape(with is null ? form : with(form));
    }
}
