using System.Diagnostics;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>Asks the shells themselves whether the scripts are right.</summary>
public sealed class CompletionTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    public CompletionTests()
    {
        foreach (string name in new[] { "vat.yaml", "parts.yml", "notes.txt", "my vat.yaml" })
        {
            File.WriteAllText(Path.Combine(_folder, name), "");
        }

        Directory.CreateDirectory(Path.Combine(_folder, "flawed"));
        File.WriteAllText(Path.Combine(_folder, "flawed", "gain.yaml"), "");
        File.WriteAllText(Path.Combine(_folder, "completions.bash"), Invocation.Of("completions bash").Output);
        File.WriteAllText(Path.Combine(_folder, "completions.zsh"), Invocation.Of("completions zsh").Output);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void BashScript_IsRightInBashsOwnEyes() => Assert.Equal("", Shell("bash", "-n", "completions.bash"));

    [Fact]
    public void ZshScript_IsRightInZshsOwnEyes() => Assert.Equal("", Shell("zsh", "-n", "completions.zsh"));

    [Fact]
    public void Zsh_WithTheScript_TiesItToTheCommand() => Assert.Equal(
        "_throughline", Shell("zsh", "-f", "-c", "autoload -Uz compinit; compinit -u -d dump; source completions.zsh; print -r -- $_comps[throughline]").Trim());

    [Theory]
    [InlineData("throughline|", "batch bom budget check compare completions faults firmware loop merge new panel readings response schema supplies workbench")]
    [InlineData("throughline|co", "compare completions")]
    [InlineData("throughline|--v", "--version")]
    [InlineData("throughline|check|", "flawed my vat.yaml parts.yml vat.yaml")]
    [InlineData("throughline|check|v", "vat.yaml")]
    [InlineData("throughline|check|flawed/", "flawed/gain.yaml")]
    [InlineData("throughline|check|vat.yaml|--", "--all --help --json")]
    [InlineData("throughline|compare|vat.yaml|fl", "flawed")]
    [InlineData("throughline|new|", "flawed")]
    [InlineData("throughline|readings|vat.yaml|--supply|", "high low nominal")]
    [InlineData("throughline|readings|vat.yaml|--a", "--ambient --at")]
    [InlineData("throughline|readings|vat.yaml|--load|", "")]
    [InlineData("throughline|completions|", "bash zsh")]
    [InlineData("throughline|schema|", "")]
    public void Bash_AtATab_OffersWhatFits(string words, string expected)
    {
        string[] typed = words.Split('|');
        string array = string.Join(' ', typed.Select(word => "'" + word + "'"));
        string offered = Shell(
            "bash", "--norc", "--noprofile", "-c",
            $"source completions.bash; COMP_WORDS=({array}); COMP_CWORD={typed.Length - 1}; _throughline; printf '%s\\n' \"${{COMPREPLY[@]}}\" | LC_ALL=C sort | paste -sd' '");
        Assert.Equal(expected, offered.Trim());
    }

    // The function is there for nothing unless it is tied to the command's name.
    [Fact]
    public void Bash_WithTheScript_TiesItToTheCommand() =>
        Assert.Contains("_throughline", Shell("bash", "--norc", "--noprofile", "-c", "source completions.bash; complete -p throughline"), StringComparison.Ordinal);

    private string Shell(string program, params string[] arguments)
    {
        ProcessStartInfo start = new(program, arguments)
        {
            WorkingDirectory = _folder,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using Process process = Process.Start(start)!;
        Task<string> error = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return output + error.Result;
    }
}
