using System.Collections.Immutable;
using AngleSharp.Dom;
using Bunit;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests.Components;

/// <summary>How findings are shown.</summary>
public sealed class FindingTests : ComponentContext
{
    private const string Flawed = "nutrient-ph/flawed/01-gain.yaml";

    [Theory]
    [InlineData(0.5, 32, 15.5)]
    [InlineData(-0.5, 16.5, 15.5)]
    [InlineData(7, 32, 31)]
    [InlineData(double.NaN, 1, 31)]
    public void MarginBar_OfAMargin_ReachesFromTheMiddle(double margin, double left, double width)
    {
        IElement bar = Render<MarginBar>(p => p.Add(b => b.Margin, margin).Add(b => b.Outcome, Outcome.Met)).Find("rect");
        Assert.Equal((Words.Px(left), Words.Px(width)), (bar.GetAttribute("x"), bar.GetAttribute("width")));
    }

    [Fact]
    public async Task FindingList_OfAReview_GroupsByStageAndHasTheLeastRoomFirst()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        IRenderedComponent<FindingList> list = Render<FindingList>(p => p.Add(l => l.State, session.State).Add(l => l.File, Flawed));
        ImmutableArray<Finding> all = session.State.Review!.Findings;
        Assert.Equal(all.Select(f => f.Stage).Distinct().Select(Words.Title), list.FindAll(".stage h3").Select(h => h.TextContent));
        Assert.Equal(all.Count(f => f.Outcome != Outcome.Met), list.FindAll(".finding").Count);
        while (list.FindAll(".met-head[aria-expanded=false]") is [var folded, ..])
        {
            folded.Click();
        }

        Assert.Equal(all.Length, list.FindAll(".finding").Count);
        foreach (IElement stage in list.FindAll(".stage"))
        {
            Finding[] shown = [.. stage.QuerySelectorAll(".finding").Select(e => all.First(f => f.Check == e.GetAttribute("data-check") && Words.Title(f.Stage) == stage.QuerySelector("h3")!.TextContent))];
            Assert.NotEmpty(shown);
        }

        string[] input = [.. list.FindAll(".stage").First(s => s.QuerySelector("h3")!.TextContent == "Input").QuerySelectorAll(".finding").Select(e => e.GetAttribute("data-outcome")!)];
        Assert.Equal(input.OrderByDescending(o => o == "not met").ThenByDescending(o => o == "marginal"), input);
        Assert.Equal("not met", input[0]);
    }

    [Fact]
    public async Task FindingList_Folded_SaysHowManyAreMetAndTheLeastMargin()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        IRenderedComponent<FindingList> list = Render<FindingList>(p => p.Add(l => l.State, session.State).Add(l => l.File, Flawed));
        foreach (IGrouping<string, Finding> stage in session.State.Review!.Findings.Where(f => f.Outcome == Outcome.Met).GroupBy(f => f.Stage))
        {
            string said = list.Find($"#stage-{stage.Key.Replace(' ', '-')} .met-head").TextContent;
            Assert.Contains($"{stage.Count()} met, least margin {Engineering.Fixed(stage.Min(f => f.Margin), 2)}", said, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task FindingList_WithWords_ShowsThoseThatHaveThem()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        IRenderedComponent<FindingList> list = Render<FindingList>(p => p.Add(l => l.State, session.State).Add(l => l.File, Flawed));
        list.Find("input[type=search]").Input("HEADROOM u1");
        Finding[] expected = [.. session.State.Review!.Findings.Where(f => f.Check == "headroom at amplifier output" && f.Subject == "U1")];
        Assert.NotEmpty(expected);
        Assert.Equal(expected.Length, list.FindAll(".finding").Count);
        list.Find("input[type=search]").Input("nothing at all of this kind");
        Assert.Contains("No finding", list.Find("[role=status]").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Finding_WhoseMendNamesAPart_LeadsToIt()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        Part part = session.State.Followed!.Instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts).First(p => p.Name.Value == "R1");
        Finding finding = session.State.Review!.Findings.First(f => f.Mend?.Contains("R1 ", StringComparison.Ordinal) == true);
        SourceSpan asked = default;
        IRenderedComponent<FindingItem> item = Render<FindingItem>(p => p
            .Add(i => i.Finding, finding)
            .Add(i => i.Places, () => new Dictionary<string, SourceSpan> { ["R1"] = part.Name.Span })
            .Add(i => i.Show, EventCallback.Factory.Create<SourceSpan>(this, span => asked = span)));
        item.Find(".finding-head").Click();
        Assert.Equal(finding.Mend, item.Find(".mend").TextContent);
        item.Find(".mend button").Click();
        Assert.Equal(part.Name.Span, asked);
    }

    [Theory]
    [InlineData("Make R1 of 42.5 kΩ, or R1-R10.", "Make |R1| of 42.5 kΩ, or R1-R10.")]
    [InlineData("R1", "|R1|")]
    [InlineData("Turn VR1. R1.", "Turn VR1. |R1|.")]
    [InlineData("Nothing here", "Nothing here")]
    public void PlacedWords_OfASentence_AreItsNamesAndTheRest(string sentence, string pieces)
    {
        SourceSpan place = new(new SourceText("x", "R1"), 0, 2);
        Assert.Equal(pieces, string.Concat(PlacedWords.Of(sentence, new Dictionary<string, SourceSpan> { ["R1"] = place }).Select(p => p.Place.IsNowhere ? p.Piece : $"|{p.Piece}|")));
    }

    [Fact]
    public async Task Finding_Pressed_OpensItsFiguresFormulaAndPlace()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        Finding finding = session.State.Review!.Findings.First(f => f.Outcome == Outcome.NotMet);
        SourceSpan asked = default;
        IRenderedComponent<FindingItem> item = Render<FindingItem>(p => p
            .Add(i => i.Finding, finding)
            .Add(i => i.Check, Workspace.CheckOf(finding))
            .Add(i => i.Show, EventCallback.Factory.Create<SourceSpan>(this, span => asked = span)));
        Assert.Equal("false", item.Find(".finding-head").GetAttribute("aria-expanded"));
        Assert.Empty(item.FindAll(".finding-body"));
        item.Find(".finding-head").Click();
        Assert.Equal("true", item.Find(".finding-head").GetAttribute("aria-expanded"));
        Assert.Equal(finding.Figures.Select(f => f.Name), item.FindAll("dt").Select(d => d.TextContent));
        Assert.Contains(finding.Mend!, item.Find(".mend").TextContent, StringComparison.Ordinal);
        Assert.Contains(Workspace.CheckOf(finding)!.MustHold, item.Find(".finding-body").TextContent, StringComparison.Ordinal);
        item.Find(".finding-body > button").Click();
        Assert.Equal(finding.Place, asked);
        item.Find(".finding-head").Click();
        Assert.Empty(item.FindAll(".finding-body"));
    }

    [Fact]
    public async Task FindingList_WithFindingsNotMet_LeadsToTheirStages()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        IRenderedComponent<FindingList> list = Render<FindingList>(p => p.Add(l => l.State, session.State));
        string[] led = [.. list.FindAll(".troubled a").Select(a => a.GetAttribute("href")!.Split('#')[1])];
        Assert.Equal(session.State.Review!.Findings.Where(f => f.Outcome != Outcome.Met).Select(f => Words.Title(f.Stage)).Distinct(), led.Select(id => list.Find("#" + id + " h3").TextContent));
        Assert.Empty(Render<FindingList>(p => p.Add(l => l.State, session.State with { Review = session.State.Review with { Findings = [.. session.State.Review.Findings.Where(f => f.Outcome == Outcome.Met)] } })).FindAll(".troubled"));
    }

    [Fact]
    public async Task FindingCounts_OfAReview_SaysEachOutcomeWithItsSign()
    {
        InstrumentSession session = await ReviewedAsync(Flawed);
        Review review = session.State.Review!;
        Assert.Equal(
            [$"■ {review.NotMet} not met", $"▲ {review.Marginal} marginal", $"{review.Met} met"],
            Render<FindingCounts>(p => p.Add(c => c.Review, review)).FindAll("span").Select(s => s.TextContent));
        Assert.Contains("being checked", Render<FindingCounts>(p => p.Add(c => c.Review, null)).Markup, StringComparison.Ordinal);
        Assert.Contains("not checked", Render<FindingCounts>(p => p.Add(c => c.Review, null).Add(c => c.IsUnreadable, true)).Markup, StringComparison.Ordinal);
    }

    [Fact]
    public async Task MovedTable_AfterAnEdit_SaysBeforeAndAfter()
    {
        InstrumentSession session = await ReviewedAsync("nutrient-ph/instrument.yaml");
        Assert.Equal("", Render<MovedTable>(p => p.Add(m => m.State, session.State)).Markup);
        session.Edit(session.State.Text.Replace("42.2 kΩ", "52.3 kΩ", StringComparison.Ordinal), "me");
        using CancellationTokenSource late = new(TimeSpan.FromSeconds(60));
        while (session.State.Moved is null)
        {
            await Task.Delay(20, late.Token);
        }

        IRenderedComponent<MovedTable> moved = Render<MovedTable>(p => p.Add(m => m.State, session.State));
        Assert.Contains("42.2 kΩ", moved.Find("h3").TextContent, StringComparison.Ordinal);
        Assert.Contains("52.3 kΩ", moved.Find("h3").TextContent, StringComparison.Ordinal);
        IElement turned = moved.Find("tbody tr.not-met");
        Assert.Equal(["met", "■ not met"], turned.QuerySelectorAll("td").Take(2).Select(d => d.TextContent));
    }
}
