using System.Diagnostics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The script at the root, as a person calls it. It builds the program when that is older than its sources.</summary>
[Trait("Length", "long")]
public sealed class ScriptTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Script_FromAnotherFolder_TakesPathsAsTheCallerMeansThem()
    {
        (int code, string output, string error) = Run(Repository.PathOf("throughline"), "new", "vat");
        Assert.Equal((0, ""), (code, error));
        Assert.Contains("vat/instrument.yaml", output, StringComparison.Ordinal);
        Assert.True(File.Exists(Path.Combine(_folder, "vat", "instrument.yaml")));
    }

    [Fact]
    public void Script_ThroughALink_FindsItsOwnFolder()
    {
        string link = Path.Combine(_folder, "throughline");
        File.CreateSymbolicLink(link, Repository.PathOf("throughline"));
        (int code, string output, string error) = Run(link, "--version");
        Assert.Equal((0, ""), (code, error));
        Assert.Matches(@"^\d+\.\d+\.\d+\n$", output);
    }

    [Fact]
    public void Script_HandsTheExitCodeOn()
    {
        (int code, string _, string error) = Run(Repository.PathOf("throughline"), "chekc");
        Assert.Equal(2, code);
        Assert.Contains("did you mean 'check'?", error, StringComparison.Ordinal);
    }

    private (int Code, string Output, string Error) Run(string program, params string[] arguments)
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
        return (process.ExitCode, output, error.Result);
    }
}
