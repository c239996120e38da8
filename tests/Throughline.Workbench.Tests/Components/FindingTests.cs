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
        item.Find(".finding-body button").Click();
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
