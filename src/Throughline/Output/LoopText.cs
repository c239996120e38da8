using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The far end of the chain for a person.</summary>
internal static class LoopText
{
    private const int Indent = 2;

    /// <summary>Every so many loads and supplies of the map are shown; the rest is in the CSV.</summary>
    private const int MapStep = 3;

    /// <summary>Of the noise's square: what is below it is left out.</summary>
    private const double LeastShare = 0.01;

    public static void Write(Page page, Instrument instrument, LoopReport? report, string? picture)
    {
        ReviewText.Title(page, instrument);
        if (report is null || instrument.Loop is not { } loop)
        {
            page.Line();
            page.Paragraph(0, "", "The instrument has no output: neither a loop nor a voltage.");
            return;
        }

        page.Line((loop.Signal.IsVoltage ? $"voltage output between {loop.Plus.Value} and {loop.Minus.Value} · " : "") + Load(loop), Ink.Quiet);
        page.Line();
        Scale(page, instrument, report, "scale, in both directions", report.Scale);
        if (!report.Asked.IsEmpty)
        {
            Scale(page, instrument, report, "read back", report.Asked);
        }

        if (report.Trim is { } trim)
        {
            page.Line("trim of the output, reference conditions, every limit at once", Ink.Strong);
            page.Paragraph(Indent, "", TrimWords.Of(trim, instrument));
            page.Line();
        }

        WriteCompliance(page, loop, report);
        WriteMap(page, report);
        Conditions(page, report);
        Noise(page, loop.Signal, report);
        if (picture is not null)
        {
            page.Line();
            page.Line($"drawn into {picture}", Ink.Quiet);
        }
    }

    private static string Load(Loop loop)
    {
        string load = "receiver " + Engineering.Range(loop.Receiver.Low, loop.Receiver.High, "Ω");
        if (loop.Cable is { } cable)
        {
            load += $" · cable {Engineering.Format(cable.Length.Value, "m", 3)} of {Engineering.Number(cable.Area.Value * 1e6)} mm², class {cable.Class}: up to "
                + $"{Engineering.Format(cable.GreatestResistance, "Ω", 3)} at {Engineering.Format(cable.Temperature.High, "°C")}";
        }

        if (loop.Barrier is { } barrier)
        {
            load += $" · barrier {Engineering.Range(barrier.Low, barrier.High, "Ω")}";
        }

        return load + (loop.Signal.IsVoltage ? loop.CableCapacitance is { } farads ? $", {Engineering.Format(farads.Value, "F", 3)}" : ""
            : loop.Supply is { } supply ? $" · fed from {Engineering.Format(supply.Quantity.Value, "V")}" : " · fed by the instrument");
    }

    private static void Scale(Page page, Instrument instrument, LoopReport report, string heading, ImmutableArray<LoopScaleRow> rows)
    {
        page.Line(heading, Ink.Strong);
        OutputSignal signal = instrument.Loop!.Signal;
        TableColumn[] receiver = signal.IsVoltage ? [] : [new TableColumn("receiver", "V")];
        Table table = new(
        [
            new TableColumn("of the scale"), new TableColumn("", "", IsNumeric: false), new TableColumn(signal.Place, signal.ShownUnit), new TableColumn(instrument.Specification.Measurand.Value, Unit(instrument)),
            .. receiver, new TableColumn("code"), new TableColumn("drive", "V"), new TableColumn("to a receiver", report.IsByRecommendation ? "NE 43" : "", IsNumeric: false),
        ]);
        foreach (LoopScaleRow row in rows)
        {
            string percent = Engineering.Percent(row.Percent, 4);
            table.Add(
            [
                percent, row.Name.EndsWith('%') ? "" : row.Name, Shown(signal, row.Value, signal.ShownDecimals), Engineering.Fixed(row.Measurand, 3),
                .. signal.IsVoltage ? (string[])[] : [Engineering.Fixed(row.ReceiverVolts, 3)], Engineering.Fixed(row.Code, 1), Engineering.Fixed(row.DriveVolts, 4), LoopWords.Of(row.State),
            ]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static string Unit(Instrument instrument) => instrument.Specification.Unit == instrument.Specification.Measurand.Value ? "" : instrument.Specification.Unit;

    private static void WriteCompliance(Page page, Loop loop, LoopReport report)
    {
        page.Line(loop.Signal.IsVoltage ? "drive" : "compliance", Ink.Strong);
        if (report.Compliance is not { } c)
        {
            page.Paragraph(Indent, "", $"Nothing drives the {loop.Signal.Place}, or it has no scale.");
            page.Line();
            return;
        }

        string load = Engineering.Format(loop.HardLoad, "Ω", 4);
        string unit = loop.Signal.Unit;
        string needed = Engineering.Format(c.Needed, unit) + (loop.Signal.IsVoltage ? $" must stand across {load}" : $" must flow through up to {load}");
        string through = loop.Signal.IsVoltage ? "across" : "through";
        page.Paragraph(
            Indent, "",
            $"{needed}. The worst parts at the lowest supplies control {AtLeast(c.MostWorst, c.Needed, unit)}, the stated ones {AtLeast(c.MostNominal, c.Needed, unit)}.",
            c.IsMet ? Ink.Plain : Ink.NotMet);
        page.Paragraph(
            Indent, "",
            (double.IsFinite(c.LoadWorst) ? $"They would still do it {through} {Engineering.Format(c.LoadWorst, "Ω", 4)}, " : "They do it across no load at all, ")
            + (double.IsFinite(c.LoadNominal) ? $"the stated ones {through} {Engineering.Format(c.LoadNominal, "Ω", 4)}." : "nor do the stated ones.")
            + (c.Supply is { } supply && !double.IsNaN(c.SupplyNeeded)
                ? $" With {load} it takes {Engineering.Format(c.SupplyNeeded, "V", 4)} of {Compliance.NameOf(supply, loop)}."
                : ""));
        page.Line();
    }

    private static string AtLeast(double value, double needed, string unit) =>
        (value >= 1.49 * needed ? "at least " : "up to ") + Engineering.Format(value, unit, 4);

    private static string Shown(OutputSignal signal, double value, int decimals) => Engineering.Fixed(value / signal.ShownScale, decimals);

    private static void WriteMap(Page page, LoopReport report)
    {
        if (report.Map is not { } map)
        {
            return;
        }

        foreach (ComplianceLayer layer in map.Layers)
        {
            page.Line($"greatest controlled {map.Signal.Noun}, {map.Signal.ShownUnit}: {layer.Name}", Ink.Strong);
            int[] columns = [.. Every(map.Loads.Length)];
            Table table = new(
            [
                new TableColumn(map.SupplyName ?? "", map.SupplyName is null ? "" : "V"),
                .. columns.Select(i => new TableColumn(Engineering.Format(map.Loads[i], "Ω"))),
                map.Signal.IsVoltage ? new TableColumn("stands", "from") : new TableColumn("passes", "up to"),
            ]);
            foreach (int row in Every(map.Supplies.Length))
            {
                string supply = double.IsNaN(map.Supplies[row]) ? "" : Engineering.Number(map.Supplies[row]);
                table.Add([supply, .. columns.Select(i => Cell(map, map.At(layer, row, i))), double.IsFinite(layer.HardestLoads[row]) ? Engineering.Format(layer.HardestLoads[row], "Ω", 3) : "none"]);
            }

            table.Write(page, Indent);
            page.Line();
        }

        page.Paragraph(
            0, "",
            $"■ below {Engineering.Format(map.ScaleEnd, map.Signal.Unit)}, the end of the scale; ▲ below {Engineering.Format(map.Needed, map.Signal.Unit)}, which must {(map.Signal.IsVoltage ? "be reached" : "flow")}; > more than the map tells apart. "
            + "--csv writes the whole map, --out draws it.", Ink.Quiet);
        page.Line();
    }

    private static IEnumerable<int> Every(int count)
    {
        for (int i = 0; i < count; i += MapStep)
        {
            yield return i;
        }
    }

    private static string Cell(ComplianceMap map, double value)
    {
        int decimals = map.Signal.ShownDecimals - 1;
        return double.IsNaN(value) ? "■ " + Engineering.NoValue
            : value >= map.Top ? "> " + Shown(map.Signal, map.Top, decimals)
            : (value < map.ScaleEnd ? "■ " : value < map.Needed ? "▲ " : "") + Shown(map.Signal, value, decimals);
    }

    private static void Conditions(Page page, LoopReport report)
    {
        page.Line("conditions, highest supplies and ambient temperature", Ink.Strong);
        Table table = new(
        [
            new TableColumn("", "", IsNumeric: false), new TableColumn("current"), new TableColumn("most strained", "", IsNumeric: false), new TableColumn("carries"), new TableColumn("heat"),
            new TableColumn("it stands"), new TableColumn("junction"), new TableColumn("harm", "", IsNumeric: false),
        ]);
        foreach (LoopCondition c in report.Conditions)
        {
            string Of(double value, string unit) => double.IsNaN(value) ? "" : Engineering.Format(value, unit, 3);
            table.Add(
            [
                c.Name, Of(c.Amperes, "A"), c.Part ?? "", Of(c.PartAmperes, "A"), Of(c.Watts, "W"), Of(c.AllowedWatts, "W"), Of(c.JunctionCelsius, "°C"),
                c.Harm == LoopHarm.None ? "" : c.Harm != LoopHarm.Overheated ? LoopWords.Of(c.Harm) : c.IsAskedFor ? "■ " + LoopWords.Of(c.Harm) : "▲ would overheat",
            ]);
        }

        table.Write(page, Indent);
        page.Line();
        foreach (LoopCondition c in report.Conditions.Where(c => c.Remark is not null))
        {
            page.Paragraph(Indent, c.Name + ": ", c.Remark!);
        }

        page.Line();
    }

    private static void Noise(Page page, OutputSignal signal, LoopReport report)
    {
        string unit = signal.Unit;
        page.Line($"noise and ripple of the {signal.Noun}", Ink.Strong);
        if (report.Noise is not { } noise)
        {
            page.Paragraph(Indent, "", "The nominal unit has no stable operating point to stand on.");
            return;
        }

        string band = $"{Engineering.Format(noise.FromHertz, "Hz")} to {Engineering.Format(noise.ToHertz, "Hz")}";
        page.Paragraph(Indent, "", $"{Engineering.Format(noise.PeakToPeak, unit, 2)} peak to peak, {Engineering.Format(noise.Rms, unit, 2)} root mean square, {band}.");
        if (noise.CodeStep > 0)
        {
            page.Paragraph(
                Indent, "",
                $"One code is {Engineering.Format(noise.CodeStep, unit, 3)}; {(noise.CodeMoves ? "the noise of the reading moves it by more than one." : "the noise of the reading moves it by one where the reading stands between two, and nowhere else.")}");
        }

        foreach (NoiseCause cause in noise.Causes.Where(c => c.Share >= LeastShare))
        {
            page.Line($"  {Cells.PadLeft(Engineering.Format(cause.Rms, unit, 2), 10)}   {Cells.PadLeft(Engineering.Percent(cause.Share, 2), 6)}   {cause.Part}, {cause.Kind}");
        }
    }
}
