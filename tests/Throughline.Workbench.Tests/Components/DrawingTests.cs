using System.Globalization;
using AngleSharp.Dom;
using Bunit;
using Throughline.Firmware;
using Throughline.Workbench.Nomograms;
using Throughline.Workbench.Pages;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests.Components;

/// <summary>What is drawn by ourselves.</summary>
public sealed class DrawingTests : ComponentContext
{
    [Fact]
    public async Task PanelScreens_OfATestOfAVoltage_SpeakOfAVoltage()
    {
        InstrumentSession session = await ReviewedAsync("duct-temperature/instrument.yaml");
        PanelProgram program = PanelProgram.Of(session.State.Followed!.Instrument)!;
        string text = Render<PanelScreens>(p => p.Add(s => s.Program, program).Add(s => s.Screen, -1)).Find(".screens").TextContent;
        Assert.Contains("raises test voltage", text, StringComparison.Ordinal);
        Assert.DoesNotContain("current", text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nutrient-ph/instrument.yaml")]
    [InlineData("hopper-bridge/instrument.yaml")]
    public async Task Nomogram_OfADemo_HasAScaleAndAPointForEachPlaceOfTheChain(string name)
    {
        InstrumentSession session = await ReviewedAsync(name);
        Followed followed = session.State.Followed!;
        IRenderedComponent<Nomogram> drawn = Render<Nomogram>(p => p.Add(n => n.Session, session).Add(n => n.State, session.State).Add(n => n.Followed, followed));
        Assert.Equal(followed.Scales.Length, drawn.FindAll("g.scale").Count);
        IElement[] points = [.. drawn.FindAll("g.point")];
        Assert.Equal(followed.Scales.Length, points.Length);

        // Each says in words what it shows, and can be reached by the keyboard; so can the hand.
        Assert.All(points, p => Assert.Equal("0", p.GetAttribute("tabindex")));
        Assert.Contains(Words.ValueWithUnit(followed.Scales[0].Shown, session.State.Measurand), points[0].GetAttribute("aria-label")!, StringComparison.Ordinal);
        IElement hand = drawn.Find("[role=slider]");
        Assert.Equal(session.State.Measurand, double.Parse(hand.GetAttribute("aria-valuenow")!, CultureInfo.InvariantCulture));
        points[1].Focus();
        Assert.Contains("intended", drawn.Find(".readout").TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nomogram_OnPaper_HasNothingToGrasp()
    {
        InstrumentSession session = await ReviewedAsync("nutrient-ph/instrument.yaml");
        IRenderedComponent<Nomogram> drawn = Render<Nomogram>(p => p
            .Add(n => n.Session, session).Add(n => n.State, session.State).Add(n => n.Followed, session.State.Followed!)
            .AddCascadingValue(Printed.Name, true));
        Assert.Empty(drawn.FindAll("[role=slider], button, .readout"));
        Assert.NotEmpty(drawn.FindAll("g.scale"));
    }

    [Theory]
    [InlineData(0, "10")]
    [InlineData(12, "142")]
    [InlineData(24, "274")]
    [InlineData(31, "274")]
    public void LoopScale_OfACurrent_StandsThere(double milliamperes, string x) =>
        Assert.Equal(x, Render<LoopScale>(p => p.Add(s => s.Shown, milliamperes)).Find("circle").GetAttribute("cx"));

    [Theory]
    [InlineData(0, 100)]
    [InlineData(1, 110)]
    [InlineData(-1, 90)]
    public void MeterScale_WithinItsTolerance_IsStraight(double tolerances, double x) =>
        Assert.Equal(Words.Px(x), Render<MeterScale>(p => p.Add(m => m.Target, 5).Add(m => m.Tolerance, 0.2).Add(m => m.Shown, 5 + (0.2 * tolerances))).Find("circle").GetAttribute("cx"));

    [Fact]
    public void MeterScale_FarOff_StaysOnItAndMoves()
    {
        double[] at = [.. new double[] { 2, 20, 2e3, 2e6, 2e12 }.Select(t => double.Parse(Render<MeterScale>(p => p.Add(m => m.Tolerance, 1).Add(m => m.Shown, t)).Find("circle").GetAttribute("cx")!, CultureInfo.InvariantCulture))];
        Assert.Equal(at.Order(), at);
        Assert.Equal(at.Distinct().Count(), at.Length);
        Assert.InRange(at[^1], 110, 198);
    }

    [Theory]
    [InlineData(0.4, 0.5, true, "first", "24")]
    [InlineData(1.2, 0.5, true, "first over", "72")]
    [InlineData(1.2, 0.5, false, "first", "72")]
    [InlineData(9, 0.5, true, "first over", "114")] // an arrow at the end says that it goes on
    public void ShareBar_OverItsLimit_SaysSo(double share, double limit, bool isJudged, string style, string width)
    {
        IElement bar = Render<ShareBar>(p => p.Add(b => b.Share, share).Add(b => b.Limit, limit).Add(b => b.IsJudged, isJudged)).Find("rect.first");
        Assert.Equal((style, width), (bar.ClassName, bar.GetAttribute("width")));
    }

    [Fact]
    public void Exports_OfAPictureAndOfATable_DifferAndAreGoneOnPaper()
    {
        Assert.Equal(["svg", "png"], Render<Exports>(p => p.Add(e => e.Of, "x").Add(e => e.Name, "y")).FindAll("button").Select(b => b.GetAttribute("data-export")));
        Assert.Equal(["csv"], Render<Exports>(p => p.Add(e => e.Of, "x").Add(e => e.Name, "y").Add(e => e.IsTable, true)).FindAll("button").Select(b => b.GetAttribute("data-export")));
        Assert.Empty(Render<Exports>(p => p.Add(e => e.Of, "x").Add(e => e.Name, "y").AddCascadingValue(Printed.Name, true)).FindAll("button"));
    }
}
