using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What the reading of one instrument shares.</summary>
internal sealed class ReadingContext(DiagnosticSink sink)
{
    public DiagnosticSink Sink { get; } = sink;

    /// <summary>How values of the measurand are kept; set once the specification is read.</summary>
    public MeasurandScale? Measurand { get; set; }

    /// <summary>Rated ambient and process temperatures, °C; set once the specification is read.</summary>
    public Specification? Specification { get; set; }

    public required PartsLibrary Library { get; init; }

    /// <summary>What the instrument puts out; null where the file has no section for it. Set before adjustment and panel are read.</summary>
    public OutputSignal? Output { get; set; }

    /// <summary>Networks of resistors by name, set before the stages are read; null for one that could not be read.</summary>
    public IReadOnlyDictionary<string, ResistorNetwork?> Networks { get; set; } = ImmutableDictionary<string, ResistorNetwork?>.Empty;

    /// <summary>Names of networks that some resistor belongs to.</summary>
    public HashSet<string> NetworksUsed { get; } = [];

    /// <summary>Blocks put in so far.</summary>
    public int BlocksUsed { get; set; }
}

/// <summary>The unit of the measurand.</summary>
/// <param name="Factor">How many of the dimension's own unit one unit is.</param>
internal sealed record MeasurandScale(string Unit, Dimension Dimension, double Factor)
{
    /// <summary>A quantity in the measurand's unit; null, and reported, when it is of another kind.</summary>
    public Quantity? Convert(ParsedQuantity parsed, ScalarNode node, DiagnosticSink sink)
    {
        if (parsed.IsBare)
        {
            return parsed.ToQuantity(node.Span, node.Text) with { Dimension = Dimension };
        }

        bool interval = (Dimension, parsed.Dimension) is (Dimension.Temperature, Dimension.TemperatureDifference) or (Dimension.TemperatureDifference, Dimension.Temperature);
        if (parsed.Dimension != Dimension && !interval)
        {
            sink.Report(
                Codes.WrongKind, node.Span, $"Expected a value in {Unit}, found {UnitSets.Noun(parsed.Dimension)}.", $"a value of the measurand such as 1 {Unit}", node.Found);
            return null;
        }

        Quantity q = parsed.ToQuantity(node.Span, node.Text);
        return Factor == 1
            ? q with { Dimension = Dimension }
            : new Quantity(Dimension, Scaled(q.Value), Scaled(q.Low), Scaled(q.High), Scaled(q.Drift), Scaled(q.SignedDrift), q.Span, q.Text);
    }

    // Dividing by the inverse keeps round values round: 250 mV in mV is 250, not 250.00000000000003.
    private double Scaled(double value) => Factor < 1 ? value * Math.Round(1 / Factor) : value / Factor;
}
