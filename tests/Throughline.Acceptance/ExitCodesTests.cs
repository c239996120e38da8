using System.Text;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>What a script sees: 0 when all is met, 1 when something is not, 2 when the file or the command line can't be read.</summary>
/// <remarks>Each test starts the program, whose culture is not that of the tests: once is enough.</remarks>
[Trait("Length", "long")]
public sealed class ExitCodesTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("throughline-acceptance-");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    /// <summary>A change to the sound file that a reader must refuse, and the text at whose place it must say so.</summary>
    public static TheoryData<string, string, string> BrokenEdits => new()
    {
        { "resistor: 42.2 kΩ", "resistor: 42.2 kV", "42.2 kV" },                                   // unit of another kind
        { "resistor: 42.2 kΩ", "resistor: −42.2 kΩ", "−42.2 kΩ" },                                  // out of its physical range
        { "resistor: 42.2 kΩ", "resistr: 42.2 kΩ", "resistr" },                                    // misspelt key
        { "  range: 4.00 .. 9.00", "  range: 9.00 .. 4.00", "9.00 .. 4.00" },                      // ends interchanged
        { "  range: 4.00 .. 9.00", "  range: wide", "wide" },
        { "  process: 8 .. 32 °C", "  range: 4.00 .. 8.00", "range: 4.00 .. 8.00" },               // twice
        { "kind: glass electrode", "kind: glass electrod", "glass electrod" },
        { "cmos low bias, plus: in", "cmos low noise bias, plus: in", "cmos low noise bias" },      // a grade that no parts file has
        { "turn: VR2", "turn: VR9", "VR9" },                                                       // a trimmer that is not there
        { "bits: 12\n      reference: 2.5 V ±0.2 %", "bits: 99\n      reference: 2.5 V ±0.2 %", "99" },
        { "  limits: { under: 3.8 mA", "  limit: { under: 3.8 mA", "limit: { under" },
    };

    // The program as a user starts it: one run for each code. The rest runs in this process, which is the same from the command line on.
    [Fact]
    public async Task Program_ExitsWithTheCodeOfItsCommand()
    {
        ProgramRun sound = await ProgramRun.StartAsync(Cancel, "check", Repository.PathOf("demo", "nutrient-ph", "instrument.yaml"));
        Assert.Equal((0, ""), (sound.ExitCode, sound.Errors));
        ProgramRun flawed = await ProgramRun.StartAsync(Cancel, "check", Repository.PathOf("demo", "nutrient-ph", "flawed", "01-gain.yaml"));
        Assert.Equal((1, ""), (flawed.ExitCode, flawed.Errors));
        ProgramRun missing = await ProgramRun.StartAsync(Cancel, "check", Path.Combine(_folder.FullName, "nowhere.yaml"));
        Assert.Equal((2, ""), (missing.ExitCode, missing.Output));
        Assert.Contains("nowhere.yaml", missing.Errors, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    [InlineData("loop-powered-level")]
    public void Check_OfSoundDemo_ExitsWithZero(string demo)
    {
        Invocation run = Check(Repository.PathOf("demo", demo, "instrument.yaml"));
        Assert.Equal((0, ""), (run.Code, run.Error));
    }

    [Theory]
    [MemberData(nameof(DemosTests.FlawedFiles), MemberType = typeof(DemosTests))]
    public void Check_OfFlawedFile_ExitsWithOneAndNamesTheFinding(string file)
    {
        string path = Repository.PathOf(["demo", .. file.Split('/')]);
        string mustTurn = File.ReadLines(path).First(line => line.StartsWith("# must turn: ", StringComparison.Ordinal))["# must turn: ".Length..];
        string check = mustTurn[..mustTurn.IndexOf(" (", StringComparison.Ordinal)];

        Invocation run = Check(path);
        Assert.Equal(1, run.Code);
        Assert.Contains(check, run.Output, StringComparison.Ordinal);
    }

    [Theory]
    [MemberData(nameof(BrokenEdits))]
    public async Task Check_OfBrokenFile_ExitsWithTwoAndSaysWhere(string old, string broken, string marked)
    {
        string text = await File.ReadAllTextAsync(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml"), Cancel);
        Assert.Contains(old, text, StringComparison.Ordinal);
        int start = text.IndexOf(old, StringComparison.Ordinal);
        text = string.Concat(text.AsSpan(0, start), broken, text.AsSpan(start + old.Length));
        int at = text.IndexOf(marked, start, StringComparison.Ordinal);
        int line = text.AsSpan(0, at).Count('\n') + 1;
        string path = Write("instrument.yaml", text);

        Invocation run = Check(path);
        Assert.Equal(2, run.Code);
        Assert.Contains(FormattableString.Invariant($"instrument.yaml:{line}:"), run.Error, StringComparison.Ordinal);
        AssertNoTrace(run);
    }

    [Fact]
    public async Task Check_OfSeveralMistakes_TellsThemAllInOneRun()
    {
        string text = await File.ReadAllTextAsync(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml"), Cancel);
        text = text.Replace("resistor: 42.2 kΩ", "resistor: 42.2 kV", StringComparison.Ordinal)
            .Replace("turn: VR2", "turn: VR9", StringComparison.Ordinal)
            .Replace("load: 0 .. 500 Ω", "load: 0 .. 500 V", StringComparison.Ordinal);
        Invocation run = Check(Write("instrument.yaml", text));
        Assert.Equal(2, run.Code);
        Assert.Contains("42.2 kV", run.Error, StringComparison.Ordinal);
        Assert.Contains("VR9", run.Error, StringComparison.Ordinal);
        Assert.Contains("500 V", run.Error, StringComparison.Ordinal);
    }

    public static TheoryData<string, string> UnreadableTexts => new()
    {
        { "empty", "" },
        { "comment only", "# nothing here\n" },
        { "scalar", "an instrument\n" },
        { "list", "- instrument\n- sensor\n" },
        { "open bracket", "instrument: [a, b\nsensor: {" },
        { "tab", "instrument:\n\tname: a\n" },
        { "two documents", "instrument: a\n---\ninstrument: b\n" },
        { "alias bomb", "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\nd: &d [*c,*c,*c,*c,*c,*c,*c,*c,*c]\n" +
            "e: &e [*d,*d,*d,*d,*d,*d,*d,*d,*d]\nf: &f [*e,*e,*e,*e,*e,*e,*e,*e,*e]\ng: &g [*f,*f,*f,*f,*f,*f,*f,*f,*f]\nh: &h [*g,*g,*g,*g,*g,*g,*g,*g,*g]\n" },
        { "deep", new string('[', 20000) },
        { "control characters", "instrument: \u0001\u0002\n" },
    };

    [Theory]
    [MemberData(nameof(UnreadableTexts))]
    public void Check_OfTextThatIsNoInstrument_ExitsWithTwo(string name, string text)
    {
        Invocation run = Check(Write(name.Replace(' ', '-') + ".yaml", text));
        Assert.Equal(2, run.Code);
        Assert.NotEqual("", run.Error);
        AssertNoTrace(run);
    }

    [Fact]
    public async Task Check_OfBytesThatAreNoUtf8_ExitsWithTwo()
    {
        string path = Path.Combine(_folder.FullName, "latin.yaml");
        await File.WriteAllBytesAsync(path, [.. Encoding.UTF8.GetBytes("instrument: R"), 0xE9, 0xFF, .. Encoding.UTF8.GetBytes("gler\n")], Cancel);
        Invocation run = Check(path);
        Assert.Equal(2, run.Code);
        Assert.Contains("UTF-8", run.Error, StringComparison.Ordinal);
        AssertNoTrace(run);
    }

    [Fact]
    public void Check_OfMissingFile_ExitsWithTwoAndNamesIt()
    {
        Invocation run = Check(Path.Combine(_folder.FullName, "nowhere.yaml"));
        Assert.Equal(2, run.Code);
        Assert.Contains("nowhere.yaml", run.Error, StringComparison.Ordinal);
        AssertNoTrace(run);
    }

    [Fact]
    public void Check_OfFolder_ExitsWithTwo()
    {
        Invocation run = Check(_folder.FullName);
        Assert.Equal(2, run.Code);
        AssertNoTrace(run);
    }

    [Theory]
    [InlineData("inspect")]
    [InlineData("check")]
    [InlineData("check", "a.yaml", "--colour-of-night")]
    public void CommandLine_ThatCannotBeRead_ExitsWithTwo(params string[] arguments)
    {
        Invocation run = Invocation.OfWords(arguments, Engine.Default);
        Assert.Equal(2, run.Code);
        Assert.NotEqual("", run.Error);
        AssertNoTrace(run);
    }

    public void Dispose() => _folder.Delete(recursive: true);

    private static Invocation Check(string path) => Invocation.OfWords(["check", path], Engine.Default);

    private static void AssertNoTrace(Invocation run)
    {
        Assert.DoesNotContain("   at ", run.Error + run.Output, StringComparison.Ordinal);
        Assert.DoesNotContain("Exception", run.Error + run.Output, StringComparison.Ordinal);
    }

    private string Write(string name, string text)
    {
        string path = Path.Combine(_folder.FullName, name);
        File.WriteAllText(path, text);
        return path;
    }
}
