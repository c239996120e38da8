using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The readings table for a person at the bench.</summary>
internal static class ReadingsText
{
    public static void Write(Page page, Instrument instrument, ReadingsTable readings)
    {
        ReviewText.Title(page, instrument);
        page.Line(ConditionsText(readings.Conditions), Ink.Quiet);
        page.Line();
        Table table = new([.. readings.Columns.Select(column => new TableColumn(column.Name, column.ShownUnit == column.Name ? "" : column.ShownUnit))]);
        foreach (ReadingsRow row in readings.Rows)
        {
            table.Add(
                [.. row.Values.Zip(readings.Columns, (value, column) => Engineering.Fixed(value / column.Scale, column.Decimals))],
                row.Remark ?? "");
        }

        table.Write(page, indent: 2);
    }

    public static string ConditionsText(Conditions conditions)
    {
        string supply = conditions.SupplyShift switch
        {
            -1 => "low",
            0 => "nominal",
            1 => "high",
            double shift => Engineering.Number(shift, signed: true) + " of its tolerance",
        };
        string text = $"ambient {Engineering.Number(conditions.Ambient)}{Engineering.ThinSpace}°C"
            + $" · process {Engineering.Number(conditions.Process)}{Engineering.ThinSpace}°C"
            + $" · supply {supply} · load {Engineering.Format(conditions.Load, "Ω")}";
        return conditions.AgeSeconds == 0 ? text : text + $" · {Engineering.Duration(conditions.AgeSeconds)} since calibration";
    }
}
