using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>An output converter whose reference is taken from nodes follows them.</summary>
public class OutputReferenceTests
{
    private static Instrument Read(string reference, string rail) => Sketch.Read(
        LoopSketch.Sink()
            .Replace("bits: 14, reference: 2.5 V", $"bits: 14, reference: {reference}", StringComparison.Ordinal)
            .Replace("A5: { kind: dc, voltage: 5.0 V, return: 0V }", $"A5: {{ kind: dc, voltage: 5.0 V, return: 0V }}\n  REF: {{ kind: dc, voltage: {rail}, return: 0V }}", StringComparison.Ordinal));

    [Fact] // By definition of a converter: its output is a share of its reference. 2 % of 12 mA are 240 µA
    public void Budget_HasTheRailThatTheReferenceIsTakenFrom()
    {
        BudgetTable table = Reviewer.Budget(Read("[REF, 0V]", "2.5 V ±2 %"), [50]).Tables.Single(t => t.Output == BudgetOutput.Loop && t.Moment == BudgetMoment.Rated);
        Assert.Equal(240e-6, Assert.Single(table.Lines, l => l.Owner == "REF").Effect, 0.5e-6);
    }

    [Fact]
    public void Readings_OfTheNominalUnit_AreThoseOfAReferenceOfItsOwn()
    {
        ReadingsTable own = Reviewer.Readings(Read("2.5 V", "2.5 V"));
        ReadingsTable shared = Reviewer.Readings(Read("[REF, 0V]", "2.5 V"));
        for (int row = 0; row < own.Rows.Length; row++)
        {
            for (int column = 0; column < own.Columns.Length; column++)
            {
                Assert.Equal(own.Rows[row].Values[column], shared.Rows[row].Values[column], 1e-9 * Math.Max(1, Math.Abs(own.Rows[row].Values[column])));
            }
        }
    }

    [Fact] // A reference of a rail of another voltage gives the same currents by other codes
    public void Readings_WithAnotherRail_KeepTheLoop()
    {
        ReadingsTable table = Reviewer.Readings(Read("[REF, 0V]", "3.3 V"), [50]);
        int loop = table.Columns.Select((c, i) => (c.Name, i)).Single(c => c.Name == "loop").i;
        Assert.Equal(0.012, Assert.Single(table.Rows).Values[loop], 2e-6);
    }
}
