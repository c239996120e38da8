using System.Globalization;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

/// <summary>The published error budgets of <c>data/circuits/budgets.csv</c>: every line and every total, misprints named.</summary>
public class ErrorBudgetTests
{
    private static readonly PublishedTable Table = PublishedTable.Read("circuits", "budgets.csv");

    // What each total adds up, as its document does.
    private static readonly Dictionary<(string Example, string Total), string[]> Totals = new()
    {
        [("F5", "TOTAL unadjusted")] = ["offset VOSI+VOSO/G 55 uV", "offset current", "gain error", "nonlinearity", "CMR 120 dB", "noise 280 nVpp"],
        [("F5", "RESOLUTION (nonlinearity+noise)")] = ["nonlinearity", "noise 280 nVpp"],
        [("F6a", "total input as printed")] = ["offset", "common mode", "supply on offset", "bias current", "offset current"],
        [("F6a", "total excitation")] = ["reference accuracy", "reference vs supply"],
        [("F6b", "total input")] = ["offset", "common mode", "bias current", "offset current"],
        [("F6c", "total input")] = ["offset", "common mode", "bias current", "offset current"],
        [("F6c", "total excitation")] = ["reference accuracy", "reference vs supply", "reference matching", "matching vs supply"],
        [("F6d", "total output")] = ["zero vs supply", "output DAC 2 LSB"],
        [("F6d", "total drift")] = ["offset drift", "reference drift", "matching drift", "span drift", "zero drift"],
        [("F11", "AD620A total absolute")] = ["AD620A offset", "AD620A output offset", "AD620A offset current", "AD620A CMR 110 dB"],
        [("F11", "AD620A total drift")] = ["AD620A gain drift", "AD620A offset drift", "AD620A output offset drift"],
        [("F11", "AD620A grand total")] = ["AD620A offset", "AD620A output offset", "AD620A offset current", "AD620A CMR 110 dB", "AD620A gain drift", "AD620A offset drift",
            "AD620A output offset drift", "AD620A nonlinearity", "AD620A noise"],
        [("F11", "discrete total absolute")] = ["discrete offset", "discrete output offset", "discrete offset current", "discrete CMR 0.02 %"],
        [("F11", "discrete total drift")] = ["discrete gain drift", "discrete offset drift", "discrete output offset drift"],
        [("F11", "discrete grand total")] = ["discrete offset", "discrete output offset", "discrete offset current", "discrete CMR 0.02 %", "discrete gain drift", "discrete offset drift",
            "discrete output offset drift", "discrete nonlinearity", "discrete noise"],
    };

    // Printed figures that are wrong or rounded otherwise; each has its reason in the table's note or in the list of errata it comes from.
    private static readonly Dictionary<(string Example, string Line), string> Errata = new()
    {
        [("F6a", "offset")] = "misprint: 200 µV / 50 mV is 4000 ppm, 2000 fits 100 µV",
        [("F6b", "grand total (text)")] = "the table's tail was not seen",
        [("F6a", "grand total (text)")] = "the table's tail was not seen",
        [("F6d", "matching drift")] = "389.175 printed as 390",
        [("F6d", "zero noise")] = "68.75 printed as 68.5",
        [("F9", "DAC")] = "arithmetic: the root of the sum of squares of the printed lines is 57.60, printed 57.95",
        [("F9", "voltage reference")] = "printed as the straight sum, unlike the other tables of the note",
        [("F10", "TI INA285-Q1 SBOS554C maximum (%)")] = "1.56528 cut to 1.56",
        [("F11", "AD620A grand total")] = "sum of rounded lines, 1 ppm",
        [("F11", "discrete total absolute")] = "sum of rounded lines, 1 ppm",
        [("F11", "discrete grand total")] = "sum of rounded lines, 2 ppm",
    };

    [Fact]
    public void EveryLine_OfThePublishedBudgets_IsReproduced()
    {
        Assert.Equal(96, Table.Rows.Length);
        int lines = 0, sums = 0, roots = 0, unseen = 0;
        foreach (PublishedRow row in Table.Rows)
        {
            string example = row["example"], name = row["line"], formula = row["formula"];
            double recomputed = row.Number("recomputed_ppm_or_stated_unit");
            double value, after = double.NaN;
            if (formula.StartsWith("rss(", StringComparison.Ordinal))
            {
                var budget = new ErrorBudget([.. formula[4..^1].Split(',').Select(v => new ErrorLine(v, Number(v)))]);
                value = budget.RootSumOfSquares;
                Assert.True(value < budget.WorstCase);
                roots++;
            }
            else if (Totals.TryGetValue((example, name), out string[]? parts))
            {
                // The documents that "sum printed lines" repeat their misprints and roundings in the total.
                bool printed = example == "F6a" || (example, name) == ("F6d", "total drift");
                var budget = new ErrorBudget([.. parts.Select(p => Line(Row(example, p), printed))]);
                value = budget.WorstCase;
                after = budget.WorstCaseAfterAdjustment;
                Assert.True(budget.RootSumOfSquares < value);
                sums++;
            }
            else if (double.IsNaN(recomputed))
            {
                Assert.Contains("not seen", row["note"] + Errata[(example, name)], StringComparison.Ordinal);
                unseen++;
                continue;
            }
            else
            {
                value = Line(row, false).Error;
                lines++;
            }

            string digits = row["recomputed_ppm_or_stated_unit"]; // six digits, or fewer where the table has fewer decimals
            Assert.Equal(recomputed, value, Math.Max(5e-6 * recomputed, digits.Contains('.', StringComparison.Ordinal) ? row.HalfDigit("recomputed_ppm_or_stated_unit") : 0));
            if (!Errata.ContainsKey((example, example == "F10" ? row["source"] : name)) && row["published"].Length > 0)
            {
                // lines are printed to the last digit shown; totals of several rounded lines may be one more away
                Assert.Equal(row.Number("published"), value, row.HalfDigit("published") + (double.IsNaN(after) ? 0 : 0.6));
            }
            else if (row["published"].Length > 0)
            {
                Assert.NotEqual(row.Number("published"), value, row.HalfDigit("published"));
            }

            if (!double.IsNaN(after) && row["published_after_adjustment"].Length > 0)
            {
                Assert.Equal(row.Number("published_after_adjustment"), after, 1.0);
            }
        }

        Assert.Equal((68, 15, 11, 2), (lines, sums, roots, unseen));
    }

    [Fact] // MT-066: the straight sum is 2145 ppm; as root of the sum of squares it would be 1598.94 (recomputed by the collectors)
    public void RootSumOfSquares_OfTheBridgeBudget_IsThatRecomputed()
    {
        var budget = new ErrorBudget([.. Totals[("F5", "TOTAL unadjusted")].Select(p => Line(Row("F5", p), false))]);
        Assert.Equal(1598.94, budget.RootSumOfSquares, 0.005);
    }

    [Fact] // XTR112 table IV: gain 2100 before and 100 ppm after adjustment, output 1626 and 63 (sums of rounded lines)
    public void Groups_OfTheTransmitterBudget_AreThoseOfItsTable()
    {
        ErrorBudget Group(params string[] lines) => new([.. lines.Select(l => Line(Row("F6c", l), false))]);
        Assert.Equal((2100.0, 100.0), (Group("span", "nonlinearity").WorstCase, Group("span", "nonlinearity").WorstCaseAfterAdjustment));
        Assert.Equal(1626, Group("zero output", "zero vs supply").WorstCase, 1.0);
        Assert.Equal(63, Group("zero output", "zero vs supply").WorstCaseAfterAdjustment, 0.51);
        Assert.Equal(62.5, Group("zero output", "zero vs supply").RootSumOfSquaresAfterAdjustment, 0.01);
    }

    [Fact] // Franco, Design with Operational Amplifiers, Ex 5.6 p. 230 (companion): 885 µV worst, 145 µV root of the sum of squares of the typical values
    public void OffsetChange_OfFranco_IsAsPrinted()
    {
        static ErrorBudget Of(params double[] microvolts) => new([.. microvolts.Select((v, i) => new ErrorLine("line " + i, v))]);
        Assert.Equal(885, Of(135, 100, 150, 500).WorstCase);
        Assert.Equal(145.086, Of(135, 10, 15, 50).RootSumOfSquares, 5e-4);
    }

    [Fact] // Divider 1:1 of two resistors of 25 ppm/K over 60 K: 1500 ppm of the output straight, 1060.66 as root of the sum of squares (computed by the collectors)
    public void Drift_OfADivider_IsThatRecomputed()
    {
        MeasurementModel ratio = r => r[1] / (r[0] + r[1]);
        ToleranceLimits limits = ToleranceLimits.Of(ratio, [10e3, 10e3], [10e3 * 1500e-6, 10e3 * 1500e-6]);
        Assert.Equal(1500, (limits.Highest / limits.Nominal - 1) * 1e6, 0.01);
        Assert.Equal(1060.66, limits.RootSumOfSquares / limits.Nominal * 1e6, 0.005);
    }

    [Fact] // Helfrick, Cooper, Modern Electronic Instrumentation, Ex 1-13 p. 15 (prints ±0.3 %): R1 R2 / R3 of three 0.1 % parts +0.300400, −0.299600, RSS 0.173205 %
    public void Limits_OfAProduct_AreThosePublished()
    {
        ToleranceLimits limits = ToleranceLimits.Of(r => r[0] * r[1] / r[2], [1000, 500, 200], [1, 0.5, 0.2]);
        Assert.Equal(0.300400, (limits.Highest / limits.Nominal - 1) * 100, 5e-7);
        Assert.Equal(-0.299600, (limits.Lowest / limits.Nominal - 1) * 100, 5e-7);
        Assert.Equal(0.173205, limits.RootSumOfSquares / limits.Nominal * 100, 5e-7);
        Assert.Equal([1001, 500.5, 199.8], limits.HighestAt);
        Assert.Equal([999, 499.5, 200.2], limits.LowestAt);
    }

    [Fact] // Divider and gains of 1 % resistors: worst cases and root sums of squares as recomputed by the collectors (F2, F3)
    public void Limits_OfDividerAndGains_AreThosePublished()
    {
        ToleranceLimits divider = ToleranceLimits.Of(r => r[1] / (r[0] + r[1]), [10e3, 10e3], [100, 100]);
        Assert.Equal((0.495, 0.505), (Math.Round(divider.Lowest, 12), Math.Round(divider.Highest, 12)));
        Assert.Equal(0.707107, divider.RootSumOfSquares / 0.5 * 100, 5e-7);
        ToleranceLimits inverting = ToleranceLimits.Of(r => -r[1] / r[0], [1e3, 10e3], [10, 100]);
        Assert.Equal(-10.2020202, inverting.Lowest, 5e-8);
        Assert.Equal(-9.80198020, inverting.Highest, 5e-9);
        Assert.Equal(1.414214, inverting.RootSumOfSquares / 10 * 100, 5e-7);
        ToleranceLimits plain = ToleranceLimits.Of(r => 1 + r[1] / r[0], [1e3, 9e3], [10, 90]);
        Assert.Equal(1.818182, plain.Highest * 10 - 100, 5e-7);
        Assert.Equal(-1.782178, plain.Lowest * 10 - 100, 5e-7);
        Assert.Equal(1.272792, plain.RootSumOfSquares * 10, 5e-7);
    }

    [Fact] // a result whose slopes at the nominal point mislead: the corner search goes on until no single change is worse
    public void Limits_WhereASlopeChangesSign_AreFoundByTheSearch()
    {
        ToleranceLimits limits = ToleranceLimits.Of(x => x[0] * x[0] + 0.1 * x[0] + x[0] * x[1], [0, 0], [1, 3]);
        Assert.Equal(4.1, limits.Highest, 1e-12);
        Assert.Equal(-2.1, limits.Lowest, 1e-12);
    }

    private static PublishedRow Row(string example, string line) => Table.Rows.Single(r => r["example"] == example && r["line"] == line);

    // The first factor of a row's formula is the limit of the cause, the rest what turns it into the result's ppm.
    private static ErrorLine Line(PublishedRow row, bool asPrinted)
    {
        double published = row.Number("published"), left = row.Number("published_after_adjustment");
        double remaining = left is 0 ? 0 : 1;
        if (asPrinted || row["formula"].Length == 0)
        {
            return new(row["line"], asPrinted ? published : row.Number("recomputed_ppm_or_stated_unit"), 1, remaining);
        }

        string formula = row["formula"].Split(" (=")[0].Trim();
        if (formula.EndsWith('%'))
        {
            return new(row["line"], Number(formula[..^1]) / 100, 1e6, remaining);
        }

        if (formula.EndsWith("ppm", StringComparison.Ordinal))
        {
            return new(row["line"], Number(formula[..^3]), 1, remaining);
        }

        int at = 0;
        double value = Formula.Sum(formula, ref at);
        Assert.Equal(formula.Length, at);
        at = 0;
        double limit = Formula.Factor(formula, ref at);
        return new(row["line"], limit, value / limit, remaining);
    }

    private static double Number(string text) => double.Parse(text, NumberStyles.Float, CultureInfo.InvariantCulture);

    /// <summary>The arithmetic of the table's formula column: + − × ÷ ^, brackets, <c>sqrt2</c>.</summary>
    private static class Formula
    {
        public static double Sum(string text, ref int at)
        {
            double value = Product(text, ref at);
            while (at < text.Length && (text[at] is '+' or '-'))
            {
                value = text[at++] == '+' ? value + Product(text, ref at) : value - Product(text, ref at);
            }

            return value;
        }

        public static double Factor(string text, ref int at)
        {
            double value = Atom(text, ref at);
            if (at < text.Length && text[at] == '^')
            {
                at++;
                value = Math.Pow(value, Atom(text, ref at));
            }

            return value;
        }

        private static double Product(string text, ref int at)
        {
            double value = Factor(text, ref at);
            while (at < text.Length && (text[at] is '*' or '/'))
            {
                value = text[at++] == '*' ? value * Factor(text, ref at) : value / Factor(text, ref at);
            }

            return value;
        }

        private static double Atom(string text, ref int at)
        {
            if (text[at] == '(')
            {
                at++;
                double value = Sum(text, ref at);
                at++;
                return value;
            }

            if (text[at..].StartsWith("sqrt2", StringComparison.Ordinal))
            {
                at += 5;
                return Math.Sqrt(2);
            }

            int start = at;
            at += text[at] == '-' ? 1 : 0;
            while (at < text.Length && (char.IsDigit(text[at]) || text[at] is '.' or 'e' || (text[at] == '-' && text[at - 1] == 'e')))
            {
                at++;
            }

            return Number(text[start..at]);
        }
    }
}
