using Throughline.Analysis;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests;

/// <summary>The page of all checks, those of the chain and those of the firmware.</summary>
public sealed class CheckReferenceTests
{
    private static readonly IReadOnlyList<IFurtherChecks> Further = FirmwareChecks.ByField;

    [Fact]
    public void Page_IsWhatTheChecksSay() => Assert.Null(Golden.Difference("docs/checks.md", CheckReference.CreateMarkdown(Further)));

    [Fact]
    public void Names_AreUnique()
    {
        string[] names = [.. CheckReference.Of(Further).Select(c => c.Name)];
        Assert.Equal(names.Length, names.Distinct().Count());
    }
}
