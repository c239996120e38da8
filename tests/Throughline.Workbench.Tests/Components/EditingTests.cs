using AngleSharp.Dom;
using Bunit;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests.Components;

/// <summary>Parts that change the file or the operating point.</summary>
public sealed class EditingTests : ComponentContext
{
    private const string Name = "nutrient-ph/instrument.yaml";

    [Fact]
    public async Task FileValue_TypedOver_ChangesThatStretchOfTheText()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        SourceSpan place = session.State.Followed!.Instrument.Revision!.Value.Span;
        IRenderedComponent<FileValue> value = Render<FileValue>(p => p.Add(v => v.Session, session).Add(v => v.Place, place).Add(v => v.Name, "revision"));
        string before = session.State.Text;
        value.Find("input").Change("  B\n ");
        Assert.Equal(string.Concat(before.AsSpan(0, place.Start), "B", before.AsSpan(place.End)), session.State.Text);
        Assert.Empty(value.FindAll("[role=alert]"));

        // The place is of the text before that edit: nothing is guessed, and it is said.
        value.Find("input").Change("C");
        Assert.Contains("changed meanwhile", value.Find("[role=alert]").TextContent, StringComparison.Ordinal);
        Assert.DoesNotContain("revision: C", session.State.Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task FileValue_OfTheWrongKind_IsNotWrittenAndSaysWhatIsWrong()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        IRenderedComponent<FileValue> value = ResistanceOf("R1", session);
        string before = session.State.Text;
        value.Find("input").Change("42.2 kV");
        Assert.Equal(before, session.State.Text);
        Assert.Contains("kV", value.Find("[role=alert]").TextContent, StringComparison.Ordinal);
        Assert.Equal(("42.2 kV", "true"), (value.Find("input").GetAttribute("value"), value.Find("input").GetAttribute("aria-invalid")));

        // The old value typed again is right again.
        value.Find("input").Change("42.2 kΩ ±1 % ±25 ppm/K");
        Assert.Empty(value.FindAll("[role=alert]"));
        Assert.Equal(before, session.State.Text);
    }

    [Fact]
    public async Task FileValue_WithAMistakeFromTheText_ShowsItAndMendsIt()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        string before = session.State.Text;
        IRenderedComponent<FileValue> value = ResistanceOf("R1", session);
        IRenderedComponent<FileValue> other = ResistanceOf("R2", session);
        (string said, string otherSaid) = (value.Find("input").GetAttribute("value")!, other.Find("input").GetAttribute("value")!);
        session.Edit(before.Replace(said, "42.2 kV", StringComparison.Ordinal), "the editor");
        value.Render();
        other.Render();
        Assert.Equal("42.2 kV", value.Find("input").GetAttribute("value"));
        Assert.NotEmpty(value.FindAll("[role=alert]"));

        // Another value can be changed meanwhile, and the wrong one be mended.
        Assert.Empty(other.FindAll("[role=alert]"));
        other.Find("input").Change(otherSaid.Replace("±1 %", "±2 %", StringComparison.Ordinal));
        Assert.Empty(other.FindAll("[role=alert]"));
        Assert.NotEmpty(session.State.Diagnostics);
        value.Find("input").Change(said);
        Assert.Empty(session.State.Diagnostics);
        Assert.Equal(before.Replace(otherSaid, otherSaid.Replace("±1 %", "±2 %", StringComparison.Ordinal), StringComparison.Ordinal), session.State.Text);
    }

    private IRenderedComponent<FileValue> ResistanceOf(string part, InstrumentSession session)
    {
        SourceSpan place = FileFacts.Of(session.State.Followed!.Instrument.Source).Single(f => f.Path.EndsWith($"/ {part} / resistor", StringComparison.Ordinal)).Span;
        return Render<FileValue>(p => p.Add(v => v.Session, session).Add(v => v.Place, place).Add(v => v.Name, part));
    }

    [Fact]
    public async Task FileValue_OnPaper_StandsApartFromItsKey()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        SourceSpan place = session.State.Followed!.Instrument.Revision!.Value.Span;
        IRenderedComponent<FileValue> value = Render<FileValue>(p => p.Add(v => v.Session, session).Add(v => v.Place, place).Add(v => v.Name, "revision").AddCascadingValue(Printed.Name, true));
        Assert.Equal(" " + place.Text, value.Find("span").TextContent);
    }

    [Fact]
    public async Task Readings_OnAPage_AreFoldedAndOpenToEveryPlaceOfTheChain()
    {
        ReadingsTable table = (await ReviewedAsync(Name)).State.Review!.Readings;
        IRenderedComponent<ReadingsPart> part = Render<ReadingsPart>(p => p.Add(r => r.Table, table));
        Assert.Empty(part.FindAll("table"));
        part.Find("summary").Click();
        Assert.Equal(table.Rows.Length, part.FindAll("tbody tr").Count);
        Assert.Equal(Words.Value(table.Columns[^1], table.Rows[0].Values[^1]), part.Find("tbody tr td:last-child").TextContent);
        Assert.Equal("pH", part.Find("thead th").TextContent);
        Assert.Single(Render<ReadingsPart>(p => p.Add(r => r.Table, table).AddCascadingValue(Printed.Name, true)).FindAll("table"));
    }

    [Fact]
    public async Task FileValue_Emptied_ChangesNothing()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        string before = session.State.Text;
        Render<FileValue>(p => p.Add(v => v.Session, session).Add(v => v.Place, session.State.Followed!.Instrument.Revision!.Value.Span).Add(v => v.Name, "revision")).Find("input").Change("  ");
        Assert.Equal(before, session.State.Text);
    }

    [Fact]
    public async Task ConditionSliders_Moved_SetTheConditionsWithinTheirRatedRanges()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        IRenderedComponent<ConditionSliders> sliders = Render<ConditionSliders>(p => p.Add(s => s.Session, session).Add(s => s.State, session.State).Add(s => s.Followed, session.State.Followed!));
        Specification specification = session.State.Followed!.Instrument.Specification;
        IElement ambient = sliders.Find("#ambient");
        Assert.Equal((Words.Exact(specification.Ambient.Low), Words.Exact(specification.Ambient.High)), (ambient.GetAttribute("min"), ambient.GetAttribute("max")));
        ambient.Input("31.5");
        Assert.Equal(31.5, session.State.At.Ambient);
        sliders.Find("#ambient").Input("900");
        Assert.Equal(specification.Ambient.High, session.State.At.Ambient);
        sliders.Find("#supply").Input("no number");
        Assert.Equal(0, session.State.At.SupplyShift);
        Assert.All(sliders.FindAll("input"), i => Assert.NotNull(sliders.Find($"label[for={i.Id}]")));
    }

    [Fact]
    public async Task Notices_OfAQuarrel_OfferThreeWaysOut()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        SessionState quarrel = session.State with { Theirs = session.State.Text + "# theirs\n" };
        IRenderedComponent<Notices> notices = Render<Notices>(p => p.Add(n => n.Session, session).Add(n => n.State, quarrel));
        Assert.Equal(["Keep mine", "Take the file's", "Lay the file's beside mine"], notices.FindAll("[role=alertdialog] button").Select(b => b.TextContent));
        notices.FindAll("[role=alertdialog] button")[2].Click();
        Assert.Equal("as in the file", session.State.Other?.Name);
    }

    [Fact]
    public async Task Notices_OfAFaultOfTheProgram_SayWhoseItIs()
    {
        InstrumentSession session = await ReviewedAsync(Name);
        IRenderedComponent<Notices> notices = Render<Notices>(p => p.Add(n => n.Session, session).Add(n => n.State, session.State with { Fault = "Broken: something", SaveTrouble = "the disk is full" }));
        Assert.Equal(2, notices.FindAll("[role=alert]").Count);
        Assert.Contains("not of your file", notices.Markup, StringComparison.Ordinal);
        Assert.Contains("the disk is full", notices.Markup, StringComparison.Ordinal);
    }
}
