using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary><c>panel</c> from standard input.</summary>
public sealed class PanelCommandTests
{
    private static readonly string Demo = Repository.PathOf("demo", "nutrient-ph", "instrument.yaml");

    [Fact]
    public void Steps_OfStandardInput_ArePlayed()
    {
        (int code, string output, string error) = Play("MENU\n\n# a remark\nLANG\nENDE\n");
        Assert.Equal("", error);
        Assert.Equal(ExitCode.AllMet, code);
        Assert.Contains("│ KAL: zwei Puffer     │", output, StringComparison.Ordinal);
        Assert.Contains("│ WAHL            TEST │", output, StringComparison.Ordinal);
    }

    [Fact]
    public void Step_ThatIsNone_IsNamedWithItsLine()
    {
        (int code, string _, string error) = Play("MENU\nMENU\n");
        Assert.Equal(ExitCode.Unreadable, code);
        Assert.Equal("throughline: line 2 of the script: `MENU` is none of the panel's keys now and no other step.\n", error);
    }

    private static (int Code, string Output, string Error) Play(string steps)
    {
        using StringWriter output = new() { NewLine = "\n" };
        using StringWriter error = new() { NewLine = "\n" };
        using StringReader input = new(steps);
        int code = Application.Run(["panel", Demo], new Surroundings(output, error) { Input = input }, Engine.Default);
        return (code, output.ToString(), error.ToString());
    }
}
