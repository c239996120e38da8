using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>Reads and reviews the instrument files of the working copy.</summary>
internal static class Demo
{
    /// <summary>The review of a file below the root, which must read without a complaint.</summary>
    public static Review Review(params string[] path)
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadFile(Repository.PathOf(path));
        Assert.Empty(parsed.Diagnostics.Select(d => $"{d.Span}: {d.Message} expected {d.Expected}, found {d.Found}"));
        Assert.NotNull(parsed.Value);
        return Reviewer.Review(parsed.Value, Engine.FurtherChecks);
    }

    /// <summary>Check and subject of every finding with this outcome, in a fixed order.</summary>
    public static ImmutableArray<string> Named(Review review, Outcome outcome) =>
        [.. review.Findings.Where(f => f.Outcome == outcome).Select(NameOf).Order(StringComparer.Ordinal)];

    /// <summary>A finding's name as the flawed files write it: the check with its subject in brackets.</summary>
    public static string NameOf(Finding finding) => $"{finding.Check} ({finding.Subject})";

    /// <summary>The one finding of a check, or of a check on a subject.</summary>
    public static Finding Of(Review review, string check, string? subject = null) =>
        Assert.Single(review.Findings, f => f.Check == check && (subject is null || f.Subject == subject));

    /// <summary>A text for people with plain spaces between a number and its unit, as a person reads it.</summary>
    public static string Plain(string? text) => (text ?? "").Replace('\u00a0', ' ').Replace('\u202f', ' ').Replace('\u2009', ' ');

    /// <summary>The value of one figure of a finding.</summary>
    public static double Figure(Finding finding, string name)
    {
        Figure? figure = finding.Figures.SingleOrDefault(f => Plain(f.Name) == name);
        Assert.True(figure is not null, $"{NameOf(finding)} has no figure '{name}', but {string.Join(", ", finding.Figures.Select(f => f.Name))}.");
        return figure.Value;
    }
}
