using System.Text.RegularExpressions;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The pictures of output in README.md are what the program writes today.</summary>
public sealed partial class ReadmeTests
{
    private const int Width = 118;

    [Fact]
    public void Pictures_OfTheReadme_AreRealOutput()
    {
        string readme = File.ReadAllText(Repository.PathOf("README.md"));
        int pictures = 0;
        string current = Picture().Replace(readme, match =>
        {
            pictures++;
            string output = match.Groups["kind"].Value == "output" ? Output(match.Groups["what"].Value) : Mistake(match.Groups["what"].Value);
            return match.Groups["head"].Value + output + "```\n";
        });
        Assert.Equal(3, pictures);
        Assert.Null(Golden.Difference("README.md", current));
    }

    /// <summary>A command as the reader of the page would type it at the root.</summary>
    private static string Output(string arguments)
    {
        Invocation invocation = Invocation.Of(arguments, AtRoot, Width);
        Assert.Equal("", invocation.Error);
        return $"$ ./throughline {arguments}\n" + invocation.Output;
    }

    /// <summary>The check of a file in which one text stands for another: <c>file: old -> new</c>.</summary>
    private static string Mistake(string what)
    {
        string[] parts = MistakeParts().Match(what).Groups.Values.Skip(1).Select(group => group.Value).ToArray();
        string text = File.ReadAllText(Repository.PathOf(parts[0]));
        Assert.Contains(parts[1], text, StringComparison.Ordinal);
        Engine engine = AtRoot with
        {
            Read = file => InstrumentReader.ReadText(file, text.Replace(parts[1], parts[2], StringComparison.Ordinal), Repository.PathOf("demo", "nutrient-ph")),
        };
        Invocation invocation = Invocation.Of("check instrument.yaml", engine, Width);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        return "$ ./throughline check instrument.yaml\n" + invocation.Error;
    }

    /// <summary>Reads as if the program had been started at the root, wherever the tests run.</summary>
    private static Engine AtRoot { get; } = Engine.Default with
    {
        Read = file => InstrumentReader.ReadText(file, File.ReadAllText(Repository.PathOf(file)), Path.GetDirectoryName(Repository.PathOf(file))),
        ReadScript = file => File.ReadAllText(Repository.PathOf(file)),
    };

    [GeneratedRegex("(?<head><!-- (?<kind>output|mistake): (?<what>.+?) -->\n```console\n)(?s:.*?)```\n")]
    private static partial Regex Picture();

    [GeneratedRegex("^(.+?): (.+) -> (.+)$")]
    private static partial Regex MistakeParts();
}
