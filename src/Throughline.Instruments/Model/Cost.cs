using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What one costs by how many are bought at once, in the currency of the file.</summary>
/// <param name="Steps">From how many on, and the price of one then; ascending, from 1 or above.</param>
public sealed record PriceList(ImmutableArray<(int From, double Price)> Steps)
{
    /// <summary>The price of one.</summary>
    /// <param name="count">Pieces bought together, 1 or more; fewer than the first step are bought at its price.</param>
    public double Of(long count)
    {
        double price = Steps[0].Price;
        foreach ((int from, double at) in Steps)
        {
            price = from <= count ? at : price;
        }

        return price;
    }
}

/// <summary>A class of tolerance that a kind of part can be bought in.</summary>
/// <param name="Tolerance">Share of the value to either side.</param>
/// <param name="Drift">Bound on the temperature coefficient, 1/K; null when it promises none.</param>
/// <param name="Text">As written, such as <c>±1 % ±100 ppm/K</c>.</param>
public sealed record PriceClass(double Tolerance, double? Drift, string Text, PriceList Price);

/// <summary>What the parts files say of prices.</summary>
public sealed record PriceTable
{
    public static PriceTable Empty { get; } = new();

    /// <summary>Prices of kinds that come in one make only: a kind of part, of supply or of converter.</summary>
    public ImmutableDictionary<string, PriceList> Kinds { get; init; } = ImmutableDictionary<string, PriceList>.Empty;

    /// <summary>Prices of grades, by kind of part and grade.</summary>
    public ImmutableDictionary<(string Kind, string Grade), PriceList> Grades { get; init; } = ImmutableDictionary<(string, string), PriceList>.Empty;

    /// <summary>Classes of the kinds that are bought by tolerance, cheapest of one first.</summary>
    public ImmutableDictionary<string, ImmutableArray<PriceClass>> Classes { get; init; } = ImmutableDictionary<string, ImmutableArray<PriceClass>>.Empty;
}

/// <summary>What the instrument may cost, and what is in it beside the drawn parts.</summary>
public sealed record CostSection
{
    /// <summary>As written behind sums; empty when the file says none.</summary>
    public string Currency { get; init; } = "";

    /// <summary>Numbers of instruments for which sums are wanted, ascending.</summary>
    public required ImmutableArray<int> Quantities { get; init; }

    /// <summary>What one may cost in parts, built in the greatest of the quantities; null without a limit.</summary>
    public Quantity? Most { get; init; }

    /// <summary>What else is bought for one instrument: enclosure, board, processor.</summary>
    public ImmutableArray<(Located<string> Name, PriceList Price)> Further { get; init; } = [];

    public SourceSpan Span { get; init; }
}

/// <summary>A part that is bought by its tolerance.</summary>
public interface IToleranced
{
    /// <summary>The number whose tolerance and temperature coefficient make its class.</summary>
    Parameter Main { get; }

    /// <summary>The same part with another tolerance or temperature coefficient.</summary>
    Part WithMain(Quantity quantity);
}
