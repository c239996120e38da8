using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The failure-effects table for a person: stage by stage, what nobody would notice first.</summary>
internal static class FaultsText
{
    private const int Indent = 2;
    private const int Gap = 3;

    public static void Write(Page page, Instrument instrument, FaultTable table)
    {
        ReviewText.Title(page, instrument);
        string unit = instrument.Specification.Unit;
        page.Line($"one fault at a time, nominal unit, measurand {Engineering.WithUnit(Engineering.Number(table.Measurand), unit)}", Ink.Quiet);
        page.Line();

        int decimals = Decimals(instrument.Specification.DisplayStep?.Value ?? instrument.Specification.Range.Width / 1000);
        string Display(FaultRow row) => double.IsNaN(row.Display) ? "nothing" : Engineering.Fixed(row.Display, decimals, unit);
        OutputSignal signal = instrument.Output;
        string Loop(FaultRow row) => double.IsNaN(row.LoopValue) ? "" : Engineering.Fixed(row.LoopValue / signal.ShownScale, signal.ShownDecimals, signal.ShownUnit);
        int faultWidth = Math.Max("fault".Length, ReviewText.Widest(table.Rows.Select(r => r.Fault), 48));
        int displayWidth = Math.Max("display".Length, ReviewText.Widest(table.Rows.Select(Display), 24));
        int loopWidth = Math.Max(signal.Place.Length, ReviewText.Widest(table.Rows.Select(Loop), 16));
        int before = Indent + EffectWords.MarkWidth + Gap + faultWidth + Gap + displayWidth + Gap + loopWidth + Gap;

        page.Write(new string(' ', Indent + EffectWords.MarkWidth + Gap));
        page.Write(Cells.PadRight("fault", faultWidth + Gap), Ink.Quiet);
        page.Write(Cells.PadLeft("display", displayWidth) + new string(' ', Gap), Ink.Quiet);
        page.Line(Cells.PadLeft(signal.Place, loopWidth), Ink.Quiet);
        foreach (IGrouping<string, FaultRow> stage in table.Rows.GroupBy(r => r.Stage))
        {
            page.Line(stage.Key, Ink.Strong);
            foreach (FaultRow row in stage.OrderBy(r => Rank(r.Effect)))
            {
                bool needsHand = row.Effect is not (FaultEffect.Signalled or FaultEffect.Harmless);
                page.Write(new string(' ', Indent));
                page.Write(Cells.PadRight(EffectWords.Mark(row.Effect), EffectWords.MarkWidth), EffectWords.Ink(row.Effect));
                page.Write(new string(' ', Gap)).Write(Cells.PadRight(Cells.Clean(row.Fault), faultWidth), needsHand ? Ink.Strong : Ink.Plain);
                page.Write(new string(' ', Gap)).Write(Cells.PadLeft(Display(row), displayWidth));
                page.Write(new string(' ', Gap)).Write(Cells.PadLeft(Loop(row), loopWidth));
                if (row.Remark is string remark)
                {
                    int room = page.Width is int width ? width - before : int.MaxValue;
                    if (Cells.Width(Cells.Clean(remark)) <= room)
                    {
                        page.Write(new string(' ', Gap)).Write(remark, Ink.Quiet);
                    }
                    else
                    {
                        page.End();
                        page.Paragraph(Indent + EffectWords.MarkWidth + Gap, "", remark, Ink.Quiet);
                        continue;
                    }
                }

                page.End();
            }

            page.Line();
        }

        Foot(page, signal, table);
    }

    private static void Foot(Page page, OutputSignal signal, FaultTable table)
    {
        foreach (FaultEffect effect in EffectWords.Order)
        {
            int count = table.Rows.Count(r => r.Effect == effect);
            string lead = Cells.PadLeft(Engineering.Fixed(count, 0), 5) + " " + Cells.PadRight(EffectWords.Word(effect), EffectWords.MarkWidth);
            page.Paragraph(0, lead, EffectWords.Meaning(effect, signal));
        }

        page.Line();
        page.Paragraph(0, "", "A fault counts as what it does worst at the ends and in the middle of the range; the figures are those of the middle.", Ink.Quiet);
        page.Paragraph(0, "", "Converter, processor and output converter are taken to live, whatever the fault does to their supply.", Ink.Quiet);
    }

    private static int Rank(FaultEffect effect)
    {
        int at = 0;
        while (EffectWords.Order[at] != effect)
        {
            at++;
        }

        return at;
    }

    /// <summary>Decimals that a step of the display needs: 0.01 takes two, 0.5 one, 20 none.</summary>
    private static int Decimals(double step) => Math.Clamp((int)Math.Ceiling(-Math.Log10(step) - 1e-9), 0, 9);
}
