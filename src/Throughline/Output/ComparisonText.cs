using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>What a change moved, for the person who has to sign it.</summary>
internal static class ComparisonText
{
    private const string Arrow = " → ";

    public static void Write(Page page, Comparison comparison, ImmutableArray<CodeChange> code, bool isFull)
    {
        Title(page, comparison.Old.Instrument, comparison.New.Instrument);
        page.Line(comparison.Old.Instrument.Source.Name + Arrow + comparison.New.Instrument.Source.Name, Ink.Quiet);
        page.Line();
        Edits(page, comparison);
        Movements(page, comparison, isFull);
        Code(page, code);
        Turned(page, comparison);
        page.Write("before  ", Ink.Quiet);
        ReviewText.Counts(page, comparison.Old.NotMet, comparison.Old.Marginal, comparison.Old.Met);
        page.End();
        page.Write("now     ", Ink.Quiet);
        ReviewText.Counts(page, comparison.New.NotMet, comparison.New.Marginal, comparison.New.Met);
        page.End();
    }

    /// <summary>One line for two revisions of an instrument, two lines for two instruments.</summary>
    private static void Title(Page page, Instrument old, Instrument @new)
    {
        if (old.Name.Value != @new.Name.Value)
        {
            ReviewText.Title(page, old);
            ReviewText.Title(page, @new);
        }
        else if (old.Revision?.Value == @new.Revision?.Value)
        {
            ReviewText.Title(page, @new);
        }
        else
        {
            page.Write(@new.Name.Value, Ink.Strong);
            page.Line($", revision {old.Revision?.Value ?? "none"}{Arrow}{@new.Revision?.Value ?? "none"}");
        }
    }

    private static void Edits(Page page, Comparison comparison)
    {
        page.Line("What was edited", Ink.Strong);
        if (comparison.Edits.IsEmpty)
        {
            page.Line("  nothing", Ink.Quiet);
        }

        int pathWidth = ReviewText.Widest(comparison.Edits.Select(e => e.Path), 48);
        foreach (Edit edit in comparison.Edits)
        {
            string change = edit switch
            {
                { Old: null } => "added  " + edit.New,
                { New: null } => "removed  " + edit.Old,
                _ => edit.Old + Arrow + edit.New,
            };
            page.Write("  ").Write(Cells.PadRight(Cells.Clean(edit.Path), pathWidth)).Write("  ").Write(change);
            if (!edit.Place.IsNowhere)
            {
                page.Write("  ").Write(edit.Place.ToString(), Ink.Quiet);
            }

            page.End();
        }

        page.Line();
    }

    private static void Movements(Page page, Comparison comparison, bool isFull)
    {
        Movement[] moved = [.. comparison.Movements.Where(m => m.Moved || isFull)];
        page.Line("What moved", Ink.Strong);
        if (moved.Length == 0)
        {
            page.Line("  nothing", Ink.Quiet);
        }

        string[] names = [.. moved.Select(m => Cells.Clean(m.Name))];
        int nameWidth = ReviewText.Widest(names, 56);
        int oldWidth = ReviewText.Widest(moved.Select(m => Engineering.Format(m.Old, m.Unit)), 20);
        int newWidth = ReviewText.Widest(moved.Select(m => Engineering.Format(m.New, m.Unit)), 20);
        foreach (IGrouping<string, Movement> stage in moved.GroupBy(m => m.Stage))
        {
            page.Write("  ").Line(stage.Key);
            foreach (Movement movement in stage)
            {
                page.Write("    ").Write(Cells.PadRight(Cells.Clean(movement.Name), nameWidth), movement.Moved ? Ink.Plain : Ink.Quiet).Write("  ");
                page.Write(Cells.PadLeft(Engineering.Format(movement.Old, movement.Unit), oldWidth), Ink.Quiet).Write(Arrow, Ink.Quiet);
                page.Write(Cells.PadLeft(Engineering.Format(movement.New, movement.Unit), newWidth)).Write("  ");
                page.Write(movement.Moved ? Engineering.Format(movement.New - movement.Old, movement.Unit, 3, signed: true) : "unmoved", Ink.Quiet);
                page.End();
            }
        }

        if (!comparison.StagesUnmoved.IsEmpty)
        {
            page.Paragraph(2, "unmoved  ", string.Join(", ", comparison.StagesUnmoved), Ink.Quiet);
        }

        page.Line();
    }

    /// <summary>Numbers of the generated code; nothing where none moved, as of an instrument without one.</summary>
    private static void Code(Page page, ImmutableArray<CodeChange> code)
    {
        if (code.IsEmpty)
        {
            return;
        }

        page.Line("What moved in the code", Ink.Strong);
        int nameWidth = ReviewText.Widest(code.Select(c => c.Name), 32);
        foreach (CodeChange change in code)
        {
            page.Write("  ").Write(Cells.PadRight(change.Name, nameWidth)).Write("  ").Write(change.Old ?? "none", Ink.Quiet).Write(Arrow, Ink.Quiet).Write(change.New ?? "gone");
            page.Write("  ").Write(change.Remark, Ink.Quiet);
            page.End();
        }

        page.Line();
    }

    private static void Turned(Page page, Comparison comparison)
    {
        page.Line("Which findings turned", Ink.Strong);
        Turned[] outcomes = [.. comparison.Turned.Where(t => t.OutcomeChanged).OrderByDescending(t => t.New?.Outcome ?? Outcome.Met)];
        if (outcomes.Length == 0)
        {
            page.Line("  none", Ink.Quiet);
        }

        foreach (Turned turned in outcomes)
        {
            Finding finding = turned.New ?? turned.Old!;
            string mark = turned.New is null ? "  gone" : OutcomeWords.Mark(turned.New.Outcome);
            Ink ink = turned.New is null ? Ink.Quiet : OutcomeWords.Ink(turned.New.Outcome);
            page.Write("  ").Write(Cells.PadRight(mark, OutcomeWords.MarkWidth), ink).Write("  ");
            ReviewText.Name(page, finding, Ink.Strong, isUnderItsStage: false);
            page.Write("  ");
            page.Line(turned.Old is null ? "new" : "was " + OutcomeWords.Word(turned.Old.Outcome), Ink.Quiet);
            if (turned.New is Finding now)
            {
                ReviewText.Details(page, now, 2 + OutcomeWords.MarkWidth + 2);
            }
        }

        int figuresOnly = comparison.Turned.Count(t => !t.OutcomeChanged);
        if (figuresOnly > 0)
        {
            page.Line($"  {Engineering.Fixed(figuresOnly, 0)} more with the same outcome and other figures", Ink.Quiet);
        }

        page.Line();
    }
}
