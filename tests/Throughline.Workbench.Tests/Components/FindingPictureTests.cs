using Bunit;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Workbench.Pages;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests.Components;

/// <summary>Where findings lead.</summary>
public sealed class FindingPictureTests : ComponentContext
{
    [Fact]
    public void Checks_WithAPictureOfTheirOwn_Exist()
    {
        string[] checks = [.. CheckReference.Of([new FirmwareChecks()]).Select(c => c.Name)];
        Assert.All(FindingPicture.Checks, c => Assert.Contains(c, checks));
    }

    [Theory]
    [InlineData("nutrient-ph/instrument.yaml")]
    [InlineData("loop-powered-level/instrument.yaml")]
    public async Task Picture_OfEveryFinding_IsOnThePageThatItNames(string name)
    {
        InstrumentSession session = await ReviewedAsync(name);
        Dictionary<string, IRenderedComponent<IComponent>> pages = new()
        {
            ["circuits"] = Section<CircuitsSection>(session),
            ["accuracy"] = Section<AccuracySection>(session),
            ["firmware"] = Section<FirmwareSection>(session),
            ["supplies"] = Section<SuppliesSection>(session),
        };
        int placed = 0;
        foreach (Finding finding in session.State.Review!.Findings)
        {
            FindingPicture picture = FindingPicture.Of(finding, session.State.Followed!.Instrument);
            Assert.Contains(Link.Sections, s => s.Word == picture.Section);
            if (picture.Id is { } id)
            {
                placed++;
                IRenderedComponent<IComponent> page = pages[picture.Section];
                page.WaitForAssertion(() => Assert.NotEmpty(page.FindAll("#" + id)), TimeSpan.FromSeconds(30));
            }
        }

        Assert.InRange(placed, 20, 1000);
    }

    /// <summary>A section as the page shows it.</summary>
    private IRenderedComponent<IComponent> Section<T>(InstrumentSession session)
        where T : IComponent => Render(builder =>
        {
            builder.OpenComponent<T>(0);
            builder.AddComponentParameter(1, "Session", session);
            builder.AddComponentParameter(2, "State", session.State);
            builder.AddComponentParameter(3, "Followed", session.State.Followed);
            builder.CloseComponent();
        });
}
