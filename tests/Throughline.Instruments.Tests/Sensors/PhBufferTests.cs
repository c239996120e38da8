using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class PhBufferTests
{
    private static readonly PublishedTable Values = PublishedTable.Read("electrochemistry", "electrochemistry-buffers.csv");

    /// <summary>The buffer of the program that a row of the table speaks of.</summary>
    private static PhBuffer BufferOf(PublishedRow row)
    {
        string name = row["buffer"], source = row["source"];
        (BufferFamily family, double label) = name switch
        {
            "tetroxalate_1.68" => (BufferFamily.Iupac, 1.68),
            "tartrate_3.56" => (BufferFamily.Iupac, 3.56),
            "citrate_3.78" => (BufferFamily.Iupac, 3.78),
            "phthalate_4.005" when source.Contains("RP1690", StringComparison.Ordinal) => (BufferFamily.Nbs1946, 4.00),
            "phthalate_4.005" when source.Contains("1977", StringComparison.Ordinal) => (BufferFamily.Nbs1977, 4.01),
            "phthalate_4.005" when source.Contains("4.008", StringComparison.Ordinal) => (BufferFamily.Din19266, 4.008),
            "phthalate_4.005" => (BufferFamily.Iupac, 4.005),
            "phosphate_6.86" => (BufferFamily.Iupac, 6.865),
            "phosphate_7.41" => (BufferFamily.Iupac, 7.413),
            "borax_9.18" => (BufferFamily.Iupac, 9.18),
            "carbonate_10.01" => (BufferFamily.Iupac, 10.012),
            "calcium_hydroxide_12.45" => (BufferFamily.Iupac, 12.454),
            "technical_4.00" => (BufferFamily.Technical25, 4.00),
            "technical_7.00" => (BufferFamily.Technical25, 7.00),
            "technical_7.01" => (BufferFamily.Technical701, 7.01),
            "technical_4.00_at20C" => (BufferFamily.Technical20, 4.00),
            "technical_7.00_at20C" => (BufferFamily.Technical20, 7.00),
            "technical_9.00_at20C" => (BufferFamily.Technical20, 9.00),
            _ => throw new InvalidOperationException(name),
        };
        return PhBuffer.Find(family, label)!;
    }

    private static bool IsThreeDecimals(PublishedRow row) => row["pH"].Split('.')[1].Length >= 3;

    [Fact] // Measured three-decimal table (published converter firmware, which agrees with IUPAC 2002) and the equations of NBS RP1690 and J. Res. NBS 81A:
           // to the last digit, with 0.0001 for values in the middle between two digits (the table's own deviation is 0.0005 at most)
    public void Ph_AtEveryThreeDecimalValue_MatchesToTheLastDigit()
    {
        PublishedRow[] rows = [.. Values.Rows.Where(IsThreeDecimals)];
        Assert.Equal(451, rows.Length);
        Assert.All(rows, row => Assert.Equal(row.Number("pH"), BufferOf(row).Ph(row.Number("temperature_C")), row.HalfDigit("pH") + 0.0001));
    }

    [Fact] // Two-decimal tables of JIS Z 8802:2011, European Pharmacopoeia 5.0 and three makers' manuals: within 0.01 of the primary values, which is the
           // spread that rounding leaves between them, except where the sources themselves differ by more
    public void Ph_AtEveryTwoDecimalValue_AgreesWithinTheSpreadOfTheSources()
    {
        PublishedRow[] rows = [.. Values.Rows.Where(r => !IsThreeDecimals(r))];
        Assert.Equal(783 - 451, rows.Length);
        int refused = 0, disputed = 0;
        Assert.All(rows, row =>
        {
            PhBuffer buffer = BufferOf(row);
            double celsius = row.Number("temperature_C"), ph = buffer.Ph(celsius);
            if (celsius > buffer.HighestCelsius)
            {
                // Printed beyond the closed form's range (carbonate above 50 °C, calcium hydroxide above 60 °C): not claimed.
                refused++;
                Assert.Equal(double.NaN, ph);
                return;
            }

            double allowed = Disputed(row["buffer"], celsius);
            disputed += allowed > 0 ? 1 : 0;
            Assert.Equal(row.Number("pH"), ph, allowed > 0 ? allowed : 0.01 + 1e-9);
        });
        Assert.Equal(16, refused);
        Assert.True(disputed < 60, $"{disputed} values lean on the exceptions.");

        // The 17 pairs of buffer and temperature whose sources differ by more than rounding, with their spread; see data/electrochemistry/electrochemistry-buffer-crosscheck.csv.
        static double Disputed(string name, double celsius) => (name, celsius) switch
        {
            ("calcium_hydroxide_12.45", 0) => 0.044,
            ("calcium_hydroxide_12.45", 5) => 0.028,
            ("calcium_hydroxide_12.45", 10 or 15 or 45) => 0.0135,
            ("phthalate_4.005", 5 or 35 or 40 or 45 or 85) => 0.0135,
            ("phthalate_4.005", 55 or 60 or 65) => 0.0205,
            ("phthalate_4.005", 90) => 0.0185,
            ("phthalate_4.005", 95) => 0.0355,
            ("phosphate_6.86", 80) => 0.0115,
            ("technical_7.00", 35 or 45) => 0.0155,
            _ => 0,
        };
    }

    [Fact] // The table of closed forms
    public void Ph_At25_MatchesCoefficientTable()
    {
        PublishedTable table = PublishedTable.Read("electrochemistry", "electrochemistry-buffer-coefficients.csv");
        Assert.Equal(10, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            BufferFamily family = row["buffer"].Contains("4.008", StringComparison.Ordinal) ? BufferFamily.Din19266 : BufferFamily.Iupac;
            double label = row.Number("pH_at_25C");
            PhBuffer buffer = PhBuffer.Find(family, label)!;
            Assert.Equal(label, buffer.Ph(25), row.HalfDigit("pH_at_25C"));
            Assert.Equal((row.Number("t_min_C"), row.Number("t_max_C")), (buffer.LowestCelsius, buffer.HighestCelsius));
            Assert.Equal(double.NaN, buffer.Ph(buffer.LowestCelsius - 0.01));
            Assert.Equal(double.NaN, buffer.Ph(buffer.HighestCelsius + 0.01));
        });
    }

    [Fact] // The spread table says between which values the sources lie; the program's value lies there too, or within rounding and the disputes above
    public void Ph_AtEveryCrossCheckedTemperature_LiesBetweenTheSources()
    {
        PublishedTable table = PublishedTable.Read("electrochemistry", "electrochemistry-buffer-crosscheck.csv");
        Assert.Equal(128, table.Rows.Length);
        int checkedRows = 0;
        Assert.All(table.Rows, row =>
        {
            double celsius = row.Number("temperature_C");
            PublishedRow named = Values.Rows.First(v => v["buffer"] == row["buffer"] && !v["source"].StartsWith("computed", StringComparison.Ordinal));
            double ph = BufferOf(named).Ph(celsius);
            if (!double.IsNaN(ph))
            {
                checkedRows++;

                // A two-decimal value stands for half a digit to either side.
                Assert.InRange(ph, row.Number("pH_min") - 0.006, row.Number("pH_max") + 0.006);
            }
        });
        Assert.True(checkedRows >= 120);
    }

    [Theory] // European Pharmacopoeia 5.0 table 2.2.3-2: temperature coefficients, pH/K, printed to one or two digits
    [InlineData(1.68, 0.001)]
    [InlineData(3.56, -0.0014)]
    [InlineData(3.78, -0.0022)]
    [InlineData(4.005, 0.0012)]
    [InlineData(6.865, -0.0028)]
    [InlineData(9.18, -0.0082)]
    [InlineData(10.012, -0.0096)]
    [InlineData(12.454, -0.034)]
    public void Ph_Around25_HasThePublishedCoefficient(double label, double perKelvin)
    {
        PhBuffer buffer = PhBuffer.Find(BufferFamily.Iupac, label)!;
        double slope = label == 3.56 ? (buffer.Ph(30) - buffer.Ph(25)) / 5 : (buffer.Ph(30) - buffer.Ph(20)) / 10;

        // The published figures are a mean over a range they do not state; a fifth of each, or a digit, is what the tables themselves leave open.
        Assert.Equal(perKelvin, slope, Math.Max(0.0005, 0.05 * Math.Abs(perKelvin)));
    }

    [Theory]
    [InlineData(7.00, BufferFamily.Technical25)]
    [InlineData(7.01, BufferFamily.Technical701)]
    [InlineData(4.00, BufferFamily.Technical25)]
    [InlineData(10.01, BufferFamily.Technical25)]
    [InlineData(4.01, BufferFamily.Iupac)]
    [InlineData(6.86, BufferFamily.Iupac)]
    [InlineData(9.18, BufferFamily.Iupac)]
    public void Find_ByLabel_GivesTheUsualFamily(double label, BufferFamily family) => Assert.Equal(family, PhBuffer.Find(label)!.Family);

    [Theory]
    [InlineData(5.5)]
    [InlineData(double.NaN)]
    public void Find_ByUnknownLabel_IsNull(double label) => Assert.Null(PhBuffer.Find(label));
}
