using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The instrument to start from is a sound one, and it uses the part of its own.</summary>
public sealed class TemplateTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Template_Checked_HasNoMistakeAndMeetsAll()
    {
        Assert.Equal(0, Invocation.OfWords(["new", _folder]).Code);
        Parsed<Instrument> parsed = InstrumentReader.ReadFile(Path.Combine(_folder, "instrument.yaml"));
        Assert.Empty(parsed.Diagnostics.Select(d => $"{d.Span} {d.Message} {d.Found}"));
        ImmutableArray<Finding> findings = Reviewer.Review(parsed.Value!, Engine.FurtherChecks, TestContext.Current.CancellationToken).Findings;
        Assert.NotEmpty(findings);
        Assert.Empty(findings.Where(f => f.Outcome != Outcome.Met).Select(f => $"{f.Check} {f.Subject}: {f.Statement}"));
    }

    [Fact]
    public void Template_WithoutItsPartsFile_MissesAGrade()
    {
        Assert.Equal(0, Invocation.OfWords(["new", _folder]).Code);
        File.Delete(Path.Combine(_folder, "parts.yaml"));
        Parsed<Instrument> parsed = InstrumentReader.ReadFile(Path.Combine(_folder, "instrument.yaml"));
        Assert.Contains(parsed.Diagnostics, d => d.Span.Text.Contains("own output amplifier", StringComparison.Ordinal));
    }
}
