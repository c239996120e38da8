using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The supplies for a person: the tree, where the power goes, ripple, start-up, brown-out, missing rails.</summary>
internal static class SuppliesText
{
    private const int Indent = 2;

    public static void Write(Page page, Instrument instrument, SupplyReport? report, string? picture)
    {
        ReviewText.Title(page, instrument);
        page.Line();
        if (report is null)
        {
            page.Paragraph(0, "", "The instrument has no supplies.");
            return;
        }

        if (report.Typical is not { } typical)
        {
            page.Paragraph(0, "", "The supplies have no operating point: a rail breaks down under what it feeds, or the circuit has none.");
            return;
        }

        Tree(page, instrument, typical, report);
        Draws(page, instrument);
        Power(page, instrument, report);
        Ripple(page, instrument, report);
        Start(page, instrument, report);
        BrownOuts(page, instrument, report);
        Missing(page, instrument, report);
        if (picture is not null)
        {
            page.Line($"drawn into {picture}", Ink.Quiet);
        }
    }

    private static void Tree(Page page, Instrument instrument, SupplyPoint typical, SupplyReport report)
    {
        page.Line($"rails: typical, and at worst over {instrument.Output.Place}, load, ambient and outside supplies", Ink.Strong);
        Table table = new(
        [
            new TableColumn("rail", "", IsNumeric: false), new TableColumn("", "", IsNumeric: false), new TableColumn("voltage", "V"), new TableColumn("circuit", "mA"), new TableColumn("draws", "mA"),
            new TableColumn("supplies", "mA"), new TableColumn("in all", "mA"), new TableColumn("at most", "mA"), new TableColumn("limit", "mA"), new TableColumn("headroom", "V"),
            new TableColumn("heat", "mW"), new TableColumn("at most", "mW"), new TableColumn("junction", "°C"), new TableColumn("efficiency", "%"),
        ]);
        void Add(string? from, int depth)
        {
            for (int i = 0; i < typical.Rails.Length; i++)
            {
                RailPoint rail = typical.Rails[i];
                if (rail.Supply.From?.Value != from)
                {
                    continue;
                }

                RailWorst? worst = report.Worst.IsEmpty ? null : report.Worst[i];
                table.Add(
                [
                    new string(' ', 2 * depth) + rail.Supply.Name.Value, rail.Supply.KindWord, Engineering.Fixed(rail.OutputVolts, 3), Milli(rail.CircuitAmperes), Milli(rail.DrawnAmperes),
                    Milli(rail.SupplyAmperes), Milli(rail.OutputAmperes), Milli(worst?.Amperes), Milli(rail.Supply.Limit?.Value), Engineering.Fixed(worst?.Headroom ?? double.NaN, 2),
                    Milli(rail.LossWatts), Milli(worst?.LossWatts), Engineering.Fixed(worst?.JunctionCelsius ?? double.NaN, 1), Engineering.Fixed(rail.Efficiency * 100, 1),
                ]);
                Add(rail.Supply.Name.Value, depth + 1);
            }
        }

        Add(null, 0);
        table.Write(page, Indent);
        page.Line();
    }

    private static string Milli(double? value) => Engineering.Fixed((value ?? double.NaN) * 1e3, 3);

    private static void Draws(Page page, Instrument instrument)
    {
        if (instrument.Supplies.All(s => s.Draws.IsEmpty))
        {
            return;
        }

        page.Line("draws as stated", Ink.Strong);
        Table table = new([new TableColumn("rail", "", IsNumeric: false), new TableColumn("consumer", "", IsNumeric: false), new TableColumn("typical", "mA"), new TableColumn("at most", "mA")]);
        foreach (Supply supply in instrument.Supplies)
        {
            foreach (Draw draw in supply.Draws)
            {
                table.Add([supply.Name.Value, draw.Name.Value, Milli(draw.Current.Value), Milli(draw.Greatest)]);
            }
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static void Power(Page page, Instrument instrument, SupplyReport report)
    {
        page.Line("where the power goes", Ink.Strong);
        Table table = new([new TableColumn("", "", IsNumeric: false), new TableColumn("typical", "mW"), new TableColumn("at the warmest", "mW")]);
        void Add(string what, Func<SupplyPoint, double> watts) => table.Add([what, Milli(watts(report.Typical!)), Milli(report.Hardest is { } hardest ? watts(hardest) : null)]);
        Add("from outside", p => p.OutsideWatts);
        Add("from other sources", p => p.OtherWatts);
        Add("heat in the circuit", p => p.CircuitWatts);
        Add($"heat in the {instrument.Output.Place}'s load", p => p.LoopWatts);
        Add("into draws", p => p.DrawnWatts);
        Add("heat in the supplies", p => p.LossWatts);
        table.Write(page, Indent);
        if (report.Hardest is { } most)
        {
            page.Paragraph(Indent, "", $"warmest: {most.Conditions}", Ink.Quiet);
        }

        page.Line();
    }


    private static void Ripple(Page page, Instrument instrument, SupplyReport report)
    {
        if (report.Ripple.IsEmpty)
        {
            return;
        }

        page.Line("ripple, from peak to peak", Ink.Strong);
        string unit = instrument.Specification.Unit;
        OutputSignal signal = instrument.Output;
        foreach (RippleEffect effect in report.Ripple)
        {
            string rails = string.Join(", ", effect.Rails.Select(r => $"{Engineering.Format(r.Volts, "V", 3)} on {r.Rail}"));
            string display = double.IsNaN(effect.Display) ? "" : $" · display {Engineering.WithUnit(Engineering.Number(effect.Display, 2), unit)}";
            string loop = double.IsNaN(effect.LoopValue) ? "" : $" · {signal.Place} {Engineering.Format(effect.LoopValue, signal.Unit, 2)}";
            page.Paragraph(Indent, "", $"{effect.Supply.Name.Value} at {Engineering.Format(effect.Hertz, "Hz", 3)}: {rails}{display}{loop}");
        }

        page.Line();
    }

    private static void Start(Page page, Instrument instrument, SupplyReport report)
    {
        if (report.Start.IsEmpty)
        {
            return;
        }

        OutputSignal signal = instrument.Output;
        page.Line("from power on to the first code", Ink.Strong);
        Table table = new([new TableColumn("from"), new TableColumn("until"), new TableColumn(signal.Place, signal.ShownUnit), new TableColumn("output converter", "", IsNumeric: false), new TableColumn("still missing", "", IsNumeric: false)]);
        foreach (StartPhase phase in report.Start)
        {
            table.Add(
            [
                Engineering.Duration(phase.FromSeconds), double.IsInfinity(phase.UntilSeconds) ? "never" : Engineering.Duration(phase.UntilSeconds),
                Engineering.Fixed(phase.LoopValue / signal.ShownScale, signal.ShownDecimals + 1), phase.Output, string.Join(", ", phase.Missing),
            ]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static void BrownOuts(Page page, Instrument instrument, SupplyReport report)
    {
        OutputSignal signal = instrument.Output;
        foreach (BrownOut brownOut in report.BrownOuts)
        {
            page.Line($"{brownOut.Source} falling, and rising again", Ink.Strong);
            Table table = new(
            [
                new TableColumn("from", "V"), new TableColumn("to", "V"), new TableColumn("gone", "", IsNumeric: false), new TableColumn("sagging", "", IsNumeric: false),
                new TableColumn("processor", "", IsNumeric: false), new TableColumn("output falling", "", IsNumeric: false), new TableColumn(signal.Place, signal.ShownUnit),
                new TableColumn("output rising", "", IsNumeric: false), new TableColumn(signal.Place, signal.ShownUnit), new TableColumn("", "", IsNumeric: false),
            ]);
            foreach (BrownOutStretch stretch in brownOut.Stretches)
            {
                bool isFalse = Math.Max(stretch.Falling.Falseness, stretch.Rising.Falseness) > 0;
                table.Add(
                [
                    Engineering.Fixed(stretch.High, 2), Engineering.Fixed(stretch.Low, 2), string.Join(", ", stretch.Gone), string.Join(", ", stretch.Sagging), stretch.Processor,
                    stretch.Falling.Output, Values(stretch.Falling), stretch.Rising.Output, Values(stretch.Rising), isFalse ? "a false value" : "",
                ]);
            }

            table.Write(page, Indent);
            if (!brownOut.Unstated.IsEmpty)
            {
                page.Paragraph(Indent, "", $"No input range is stated of {string.Join(", ", brownOut.Unstated)}: taken to work down to nothing.", Ink.Quiet);
            }

            page.Line();
        }

        string Values(BrownOutLoop loop)
        {
            (string least, string greatest) = (Shown(loop.Least), Shown(loop.Greatest));
            return least == greatest ? least : $"{least} .. {greatest}";
        }

        string Shown(double value) => Engineering.Fixed(value / signal.ShownScale, signal.ShownDecimals);
    }

    private static void Missing(Page page, Instrument instrument, SupplyReport report)
    {
        OutputSignal signal = instrument.Output;
        page.Line("a rail missing", Ink.Strong);
        Table table = new([new TableColumn("fault", "", IsNumeric: false), new TableColumn("", "", IsNumeric: false), new TableColumn("display", instrument.Specification.Unit), new TableColumn(signal.Place, signal.ShownUnit), new TableColumn("rail", "V"), new TableColumn("what stands still", "", IsNumeric: false)]);
        foreach (FaultRow row in report.Missing)
        {
            table.Add(
            [
                row.Fault, EffectWords.Word(row.Effect), double.IsNaN(row.Display) ? "nothing" : Engineering.Number(row.Display, 4), Engineering.Fixed(row.LoopValue / signal.ShownScale, signal.ShownDecimals),
                Engineering.Number(row.RailVolts, 3), row.Remark ?? "",
            ]);
        }

        table.Write(page, Indent);
        page.Line();
        page.Paragraph(0, "", "A missing rail is disconnected where it comes from, and so is all that it feeds: what hangs on it decides its voltage. Who draws from it stands still; who draws from no rail of the file, and a reference that no rail feeds, are taken to live.", Ink.Quiet);
    }
}
