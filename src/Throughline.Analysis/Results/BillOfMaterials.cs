using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A line of the bill: pieces that are bought as one article.</summary>
/// <param name="Article">What it is and its value, such as <c>resistor 10 kΩ</c>.</param>
/// <param name="Class">Class of tolerance or grade that is bought; empty for what has none.</param>
/// <param name="Owners">Parts, supplies or stages that it is, in the order of the file.</param>
/// <param name="Price">Null where no price is stated that fits.</param>
public sealed record BillLine(string Article, string Class, ImmutableArray<string> Owners, PriceList? Price)
{
    public int Count => Owners.Length;

    /// <summary>What the line costs for one instrument when so many are built at once; NaN without a price.</summary>
    public double Cost(int instruments) => Price is null ? double.NaN : Count * Price.Of((long)Count * instruments);
}

/// <summary>Everything that is bought for one instrument.</summary>
public sealed record BillOfMaterials(string Currency, ImmutableArray<int> Quantities, ImmutableArray<BillLine> Lines)
{
    public IEnumerable<BillLine> Unpriced => Lines.Where(l => l.Price is null);

    /// <summary>What the priced parts of one instrument cost when so many are built at once.</summary>
    public double Total(int instruments) => Lines.Where(l => l.Price is not null).Sum(l => l.Cost(instruments));
}

/// <summary>A part in another class of tolerance.</summary>
/// <param name="From">Its class as bought, and <paramref name="To"/> another one that has a price.</param>
/// <param name="CostChange">For one instrument at the greatest quantity.</param>
/// <param name="Display">Error at the display over its limit, worst of the range, with the other class; NaN without a display or a limit.</param>
/// <param name="Loop">The same at the loop.</param>
public sealed record ClassChange(string Part, PriceClass From, PriceClass To, double CostChange, double Display, double Loop)
{
    /// <summary>The greater of the two.</summary>
    public double Worst => double.IsNaN(Display) ? Loop : double.IsNaN(Loop) ? Display : Math.Max(Display, Loop);
}

/// <summary>What other classes of tolerance would do to cost and accuracy.</summary>
/// <param name="Display">Error at the display over its limit as the file has it; NaN without a display or a limit.</param>
/// <param name="Loop">The same at the loop.</param>
/// <param name="Better">Each tried alone: those that make the instrument more accurate, the greatest gain first.</param>
/// <param name="Cheaper">Each tried alone: those that cost less and leave every finding as it is, the greatest saving first.</param>
/// <param name="Together">Those of <paramref name="Cheaper"/> that can be taken at once, every finding still as it is.</param>
public sealed record ClassReport(
    double Display, double Loop, ImmutableArray<ClassChange> Better, ImmutableArray<ClassChange> Cheaper, ImmutableArray<ClassChange> Together);
