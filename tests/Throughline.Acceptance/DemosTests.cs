using System.Collections.Concurrent;
using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The demo instruments meet their specification, and every flawed revision is caught for what is wrong with it.</summary>
public sealed class DemosTests
{
    private const string MustTurn = "# must turn: ";
    private const string Follows = "# follows: ";

    private static readonly string[] Sound = ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", "duct-temperature"];

    // Every flawed revision is held against it.
    private static readonly ConcurrentDictionary<string, Review> Known = new();

    public static TheoryData<string> SoundDemos => [.. Sound];

    public static TheoryData<string> FlawedFiles => [.. Flawed()];

    [Theory]
    [MemberData(nameof(SoundDemos))]
    public void Review_OfSoundDemo_MeetsEveryCheckWithRoom(string demo)
    {
        Review review = SoundReview(demo);
        Assert.Empty(review.Findings.Where(f => f.Outcome != Outcome.Met).Select(f => $"{Demo.NameOf(f)}: {f.Statement}"));
        Assert.NotEmpty(review.Findings);
    }

    [Fact]
    public void SoundDemos_HaveEveryCheckInPlay()
    {
        IEnumerable<string> inPlay = Sound.SelectMany(demo => SoundReview(demo).Findings).Select(f => f.Check);
        Assert.Empty(CheckReference.Of(Engine.FurtherChecks).Select(c => c.Name).Except(inPlay));
    }

    [Fact]
    public void FlawedFiles_AreAtLeastFifteen() => Assert.True(Flawed().Length >= 15);

    [Theory]
    [MemberData(nameof(FlawedFiles))]
    public void FlawedFile_DiffersFromTheSoundOne_InFewLines(string file)
    {
        string[] sound = Body(Repository.PathOf("demo", SoundOf(file), "instrument.yaml"));
        string[] flawed = Body(Path(file));
        // One mistake: at most four lines of the file are not those of the sound one, in either direction.
        Assert.InRange(CountMissing(flawed, sound), 1, 4);
        Assert.InRange(CountMissing(sound, flawed), 0, 4);
    }

    [Theory]
    [MemberData(nameof(FlawedFiles))]
    [Trait("Length", "long")]
    public void Review_OfFlawedFile_TurnsTheRightFindingsAndNoOther(string file)
    {
        string[] heading = [.. File.ReadLines(Path(file)).TakeWhile(line => line.StartsWith('#'))];
        ImmutableArray<string> mustTurn = Listed(heading, MustTurn);
        ImmutableArray<string> mayFollow = Listed(heading, Follows);
        Assert.NotEmpty(mustTurn);

        Review sound = SoundReview(SoundOf(file));
        Review flawed = Demo.Review(["demo", .. file.Split('/')]);
        ImmutableArray<string> turned = [.. Demo.Named(flawed, Outcome.NotMet).Except(Demo.Named(sound, Outcome.NotMet))];

        Assert.Empty(mustTurn.Except(turned));
        Assert.Empty(turned.Except(mustTurn).Except(mayFollow));
        foreach (Finding finding in flawed.Findings.Where(f => f.Outcome == Outcome.NotMet))
        {
            Assert.False(string.IsNullOrWhiteSpace(finding.Mend), Demo.NameOf(finding) + " says nothing that would mend it.");
            Assert.False(finding.Place.IsNowhere, Demo.NameOf(finding) + " has no place in the file.");
            Assert.False(string.IsNullOrWhiteSpace(finding.Statement), Demo.NameOf(finding) + " says nothing.");
        }
    }

    private static Review SoundReview(string demo) => Known.GetOrAdd(demo, d => Demo.Review("demo", d, "instrument.yaml"));

    private static string[] Flawed() =>
        [.. Sound.Where(demo => Directory.Exists(Repository.PathOf("demo", demo, "flawed")))
            .SelectMany(demo => Directory.EnumerateFiles(Repository.PathOf("demo", demo, "flawed"), "*.yaml")
                .Select(System.IO.Path.GetFileName).Where(name => name != "parts.yaml").Order(StringComparer.Ordinal).Select(name => $"{demo}/flawed/{name}"))];

    /// <summary>The demo that a file is a flawed revision of.</summary>
    private static string SoundOf(string file) => file.Split('/')[0];

    private static string Path(string file) => Repository.PathOf(["demo", .. file.Split('/')]);

    /// <summary>The names listed after a mark, separated by semicolons.</summary>
    private static ImmutableArray<string> Listed(string[] heading, string mark) =>
        [.. heading.Where(line => line.StartsWith(mark, StringComparison.Ordinal))
            .SelectMany(line => line[mark.Length..].Split(';', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))];

    /// <summary>The lines below the comment at the head.</summary>
    private static string[] Body(string path) => [.. File.ReadLines(path).SkipWhile(line => line.StartsWith('#'))];

    private static int CountMissing(string[] lines, string[] elsewhere)
    {
        HashSet<string> known = [.. elsewhere];
        return lines.Count(line => !known.Contains(line));
    }
}
