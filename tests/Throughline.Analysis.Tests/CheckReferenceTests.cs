using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests;

public sealed class CheckReferenceTests
{
    [Fact]
    public void Page_IsWhatTheChecksSay() => Assert.Null(Golden.Difference("docs/checks.md", CheckReference.CreateMarkdown()));

    [Fact]
    public void Names_AreUnique() => Assert.Equal(CheckReference.Names.Count(), CheckReference.Names.Distinct().Count());
}
