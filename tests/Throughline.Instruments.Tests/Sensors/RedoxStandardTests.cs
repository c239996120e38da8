using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class RedoxStandardTests
{
    private static readonly PublishedTable Potentials = PublishedTable.Read("electrochemistry", "electrochemistry-orp.csv");

    [Fact] // Every row of the table of redox standards and reference electrodes, each with the source that the row names
    public void Potential_OfEveryRow_MatchesTable()
    {
        Assert.Equal(109, Potentials.Rows.Length);
        Assert.All(Potentials.Rows, row =>
        {
            (double millivolts, double tolerance) = Compute(row);
            Assert.Equal(row.Number("potential_mV"), millivolts, tolerance);
        });
    }

    [Fact] // The column worked out independently from the same formulas, to 0.1 mV, with the buffers' pH as printed to 0.001: 0.0006 pH is 0.035 mV
    public void Quinhydrone_RecomputedColumn_MatchesTable()
    {
        PublishedRow[] rows = [.. Potentials.Rows.Where(r => r["recomputed_mV"].Length > 0 && r["solution"].StartsWith("quinhydrone in ph", StringComparison.Ordinal)
            || r["solution"].StartsWith("quinhydrone in ne", StringComparison.Ordinal))];
        Assert.Equal(16, rows.Length);
        Assert.All(rows, row => Assert.Equal(row.Number("recomputed_mV"), Compute(row).Millivolts, row.HalfDigit("recomputed_mV") + 0.035));
    }

    [Fact]
    public void Potential_OutsideTheKnownTemperatures_IsNaN()
    {
        Assert.Equal(double.NaN, RedoxStandard.Zobell(31));
        Assert.Equal(double.NaN, RedoxStandard.ZobellAgainstSilverChloride4(-6));
        Assert.Equal(double.NaN, RedoxStandard.TriiodideIodide(51));
        Assert.Equal(double.NaN, ReferenceElectrode.SilverChloride3.Potential(4.9));
        Assert.Equal(double.NaN, ReferenceElectrode.SilverChloride333.Potential(double.NaN));
        Assert.Equal(double.NaN, ReferenceElectrode.CalomelSaturated.Potential(26));
    }

    [Fact] // 475 mV against 4 mol/L silver chloride is 675 mV on the hydrogen scale (published rows for Light's solution)
    public void ToHydrogenScale_AddsTheReference() => Assert.Equal(RedoxStandard.Light, ReferenceElectrode.SilverChloride4.ToHydrogenScale(0.475, 25), 1e-12);

    private static (double Millivolts, double Tolerance) Compute(PublishedRow row)
    {
        double celsius = row.Number("temperature_C"), digit = row.HalfDigit("potential_mV");
        string solution = row["solution"], against = row["against"];
        double phthalate = PhBuffer.Find(BufferFamily.Iupac, 4.005)!.Ph(celsius), phosphate = PhBuffer.Find(BufferFamily.Iupac, 6.865)!.Ph(celsius);
        ReferenceElectrode of333 = ReferenceElectrode.SilverChloride333, saturated = ReferenceElectrode.SilverChlorideSaturated;
        return (solution, against) switch
        {
            // Published acceptance ±15 mV; standard potential from memory. The table and the formula differ by 0.9 to 2.1 mV.
            ("quinhydrone in phthalate buffer", _) => (1000 * (RedoxStandard.Quinhydrone(phthalate, celsius) - of333.Potential(celsius)), 2.2),
            ("quinhydrone in neutral phosphate buffer 6.86", _) => (1000 * (RedoxStandard.Quinhydrone(phosphate, celsius) - of333.Potential(celsius)), 2.2),

            // Two makers print 264/87 and 263/86 mV; the row names a reference of 199 mV.
            ("quinhydrone in pH 4.01 buffer", _) => (1000 * (RedoxStandard.Quinhydrone(4.01, celsius) - saturated.Potential(celsius)), 1.5),
            ("quinhydrone in pH 7.00 buffer", _) => (1000 * (RedoxStandard.Quinhydrone(7.00, celsius) - saturated.Potential(celsius)), 1.5),
            ("ZoBell", "SHE") => (1000 * RedoxStandard.Zobell(celsius), digit),
            ("ZoBell", _) => (1000 * RedoxStandard.ZobellAgainstSilverChloride4(celsius), digit),
            ("Light's", "SHE") => (1000 * RedoxStandard.Light, digit),
            ("Light's", _) => (1000 * (RedoxStandard.Light - ReferenceElectrode.SilverChloride4.Potential(celsius)), digit),
            ("triiodide/iodide standard", _) => (1000 * RedoxStandard.TriiodideIodide(celsius), digit),
            ("commercial redox buffer 220 mV (pH 7)", _) => (1000 * RedoxStandard.Ready220, digit),
            ("commercial redox buffer 468 mV (pH about 0.1)", _) => (1000 * RedoxStandard.Ready468, digit),
            ("Ag/AgCl 3 mol/L KCl electrode itself", _) => (1000 * ReferenceElectrode.SilverChloride3.Potential(celsius), digit),
            ("Ag/AgCl 3.33 mol/L KCl electrode itself", _) => (1000 * of333.Potential(celsius), digit),
            ("Ag/AgCl 3.5 mol/L KCl electrode itself", _) => (1000 * ReferenceElectrode.SilverChloride35.Potential(celsius), digit),
            ("Ag/AgCl saturated KCl electrode itself", _) => (1000 * saturated.Potential(celsius), digit),
            ("calomel saturated KCl electrode itself", _) => (1000 * ReferenceElectrode.CalomelSaturated.Potential(celsius), digit),
            _ => throw new InvalidOperationException(row.ToString()),
        };
    }
}
