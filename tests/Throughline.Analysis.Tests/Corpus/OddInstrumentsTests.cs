using System.Collections.Concurrent;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Corpus;

/// <summary>Whatever a readable file says, every evaluation ends with a result that is in order.</summary>
public sealed class OddInstrumentsTests
{
    /// <summary>Two instruments each, so that both sides of a comparison are odd.</summary>
    private const int Pairs = 1_050;

    [Fact]
    [Trait("Length", "long")]
    public void Evaluate_ReadableInstruments_EndsWithResultsInOrder()
    {
        ConcurrentDictionary<string, string> failures = [];
        int judged = 0;
        Parallel.For(0, Pairs, i =>
        {
            Instrument first = OddInstruments.Create(2 * i * OddInstruments.SeedCount + i);
            Instrument second = OddInstruments.Create(((2 * i) + 1) * OddInstruments.SeedCount + i);
            string step = "";
            Instrument? at = null;
            try
            {
                step = "comparison";
                Comparison comparison = Reviewer.Compare(first, second);
                Judge(comparison);
                foreach ((Instrument instrument, Review review) in new[] { (first, comparison.Old), (second, comparison.New) })
                {
                    (at, step) = (instrument, "review");
                    Judge(review);
                    step = "readings";
                    Judge(Reviewer.Readings(instrument));
                    step = "response";
                    _ = Reviewer.Response(instrument);
                    step = "budget";
                    Judge(Reviewer.Budget(instrument, [instrument.Specification.Range.Middle]));
                    step = "faults";
                    Judge(Reviewer.Faults(instrument));
                    Interlocked.Increment(ref judged);
                }
            }
            catch (Exception e)
            {
                string where = string.Join("\n", (e.StackTrace ?? "").Split('\n').Where(l => l.Contains("Throughline", StringComparison.Ordinal)).Take(4));
                failures.TryAdd($"{step}: {e.GetType().Name}: {e.Message}\n{where}", (at ?? first).Source.Content);
            }
        });
        Assert.True(failures.IsEmpty, $"{failures.Count} kinds of failures:\n" + string.Join("\n\n", failures.Select(f => f.Key + "\n" + f.Value).Take(20)));
        Assert.True(judged >= 2_000);
    }

    private static void Judge(Review review)
    {
        HashSet<(string, string)> met = [];
        foreach (Finding finding in review.Findings)
        {
            string what = $"{finding.Check} / {finding.Subject}";
            Assert.True(met.Add((finding.Check, finding.Subject)), $"twice: {what}");
            Assert.True(finding.Margin is >= -1 and <= 1, $"margin {finding.Margin}: {what}");
            Assert.True(finding.Outcome == Outcome.NotMet == finding.Margin < 0, $"outcome against margin: {what}");
            Assert.False(finding.Place.IsNowhere, $"nowhere: {what}");
            Assert.False(string.IsNullOrWhiteSpace(finding.Statement), $"says nothing: {what}");
            Assert.True(finding.Outcome == Outcome.Met || !string.IsNullOrWhiteSpace(finding.Mend), $"no mend: {what}");
            Assert.DoesNotContain("2147483647", finding.Mend ?? "", StringComparison.Ordinal);
            foreach (Figure figure in finding.Figures)
            {
                Assert.False(double.IsInfinity(figure.Value), $"infinite {figure.Name}: {what}");
            }
        }
    }

    private static void Judge(ReadingsTable table) =>
        Assert.All(table.Rows, row => Assert.Equal(table.Columns.Length, row.Values.Length));

    private static void Judge(ErrorBudgetReport report)
    {
        foreach (BudgetTable table in report.Tables)
        {
            Assert.Equal(table.Lines.Length, table.Lines.Select(l => l.Name).Distinct().Count());
            Assert.All(table.Lines, line => Assert.False(line.Effect < 0, line.Name));
        }
    }

    private static void Judge(FaultTable table)
    {
        Assert.Equal(table.Rows.Length, table.Rows.Select(r => r.Fault).Distinct().Count());
        Assert.All(table.Rows, row => Assert.False(row.Place.IsNowhere, row.Fault));
    }

    private static void Judge(Comparison comparison)
    {
        Assert.Empty(comparison.StagesMoved.Intersect(comparison.StagesUnmoved));
        Assert.All(comparison.Turned, t => Assert.True(t.Old is not null || t.New is not null));
    }
}
