using System.Text.RegularExpressions;
using Throughline.Testing;
using Xunit;

namespace Throughline.Architecture;

/// <summary>What the documents point at is there.</summary>
public sealed partial class DocumentTests
{
    private static readonly string[] TopFolders = ["src/", "tests/", "docs/", "demo/", "bench/", "data/", ".ci/"];

    public static TheoryData<string> Documents => [.. Directory.EnumerateFiles(Repository.Root, "*.md", SearchOption.AllDirectories)
        .Select(path => Path.GetRelativePath(Repository.Root, path).Replace('\\', '/'))
        .Where(path => !path.StartsWith("artifacts/", StringComparison.Ordinal) && !path.Contains("/artifacts/", StringComparison.Ordinal))
        .Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Documents))]
    public void Links_OfADocument_LeadSomewhere(string document)
    {
        string folder = Path.GetDirectoryName(Repository.PathOf(document))!;
        IEnumerable<string> broken = Links().Matches(File.ReadAllText(Repository.PathOf(document)))
            .Select(match => match.Groups[1].Value)
            .Where(target => !target.Contains("://", StringComparison.Ordinal) && !target.StartsWith("mailto:", StringComparison.Ordinal))
            .Where(target => !IsThere(folder, document, target));
        Assert.Empty(broken);
    }

    [Theory]
    [MemberData(nameof(Documents))]
    public void PathsInCode_OfADocument_Exist(string document)
    {
        IEnumerable<string> broken = Code().Matches(File.ReadAllText(Repository.PathOf(document)))
            .SelectMany(match => match.Groups[1].Value.Split(' '))
            .Select(word => word.StartsWith("./", StringComparison.Ordinal) ? word[2..] : word)
            .Where(word => TopFolders.Any(top => word.StartsWith(top, StringComparison.Ordinal)) && word.IndexOfAny(['*', '<', '{', '…']) < 0)
            .Select(word => word.TrimEnd('.', ',', ':', ';').Split(':')[0])
            .Where(path => !Path.Exists(Repository.PathOf(path)));
        Assert.Empty(broken);
    }

    [Fact]
    public void Documents_AreThere() => Assert.Superset(
        new HashSet<string> { "README.md", "CONTRIBUTING.md", "CHANGELOG.md", "docs/architecture.md", "docs/json.md" },
        Documents.Select(row => row.Data).ToHashSet());

    private static bool IsThere(string folder, string document, string target)
    {
        string[] parts = target.Split('#', 2);
        string file = parts[0].Length == 0 ? Repository.PathOf(document) : Path.Combine(folder, Uri.UnescapeDataString(parts[0]));
        if (!Path.Exists(file))
        {
            return false;
        }

        // A heading's anchor: lower case, spaces as dashes, punctuation dropped.
        return parts.Length == 1 || !file.EndsWith(".md", StringComparison.Ordinal) || File.ReadLines(file)
            .Where(line => line.StartsWith('#'))
            .Any(line => Punctuation().Replace(line.TrimStart('#').Trim().ToLowerInvariant(), "").Replace(' ', '-') == parts[1]);
    }

    [GeneratedRegex(@"\]\(([^)\s]+)\)")]
    private static partial Regex Links();

    [GeneratedRegex("`([^`\n]+)`")]
    private static partial Regex Code();

    [GeneratedRegex(@"[^\w\- ]")]
    private static partial Regex Punctuation();
}
