using System.Text.RegularExpressions;
using Throughline.Output;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>What the pages look like, held whole.</summary>
public sealed partial class PageTests
{
    [Theory]
    [InlineData("check", "check vat.yaml", null)]
    [InlineData("check-narrow", "check vat.yaml", 72)]
    [InlineData("check-all", "check vat.yaml --all", 100)]
    [InlineData("check-several", "check vat.yaml sound.yaml", 100)]
    [InlineData("readings", "readings vat.yaml", null)]
    [InlineData("readings-narrow", "readings vat.yaml", 44)]
    [InlineData("readings-chosen", "readings vat.yaml --at 3.6,7,-1 --ambient 45 --process=10°C --supply low --load 500Ω", 100)]
    [InlineData("budget", "budget vat.yaml", null)]
    [InlineData("budget-narrow", "budget vat.yaml", 80)]
    [InlineData("budget-chosen", "budget vat.yaml --at 3,9", 120)]
    [InlineData("response", "response vat.yaml", null)]
    [InlineData("response-narrow", "response vat.yaml", 44)]
    [InlineData("faults", "faults vat.yaml", 100)]
    [InlineData("faults-narrow", "faults vat.yaml", 60)]
    [InlineData("compare", "compare old.yaml vat.yaml", 100)]
    [InlineData("compare-all", "compare old.yaml vat.yaml --all", null)]
    public void Output_OfACommand_IsTheGoldenPage(string name, string arguments, int? width)
    {
        Invocation invocation = Invocation.Of(arguments, width: width);
        Assert.Equal("", invocation.Error);
        Assert.Null(Golden.Difference($"tests/Throughline.Acceptance/Golden/{name}.txt", invocation.Output));
    }

    [Theory]
    [InlineData("broken", "check broken.yaml", null)]
    [InlineData("broken-narrow", "check broken.yaml", 60)]
    [InlineData("nowhere", "readings nowhere.yaml", null)]
    public void Error_OfAnUnreadableFile_IsTheGoldenPage(string name, string arguments, int? width)
    {
        Invocation invocation = Invocation.Of(arguments, width: width);
        Assert.Equal("", invocation.Output);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Null(Golden.Difference($"tests/Throughline.Acceptance/Golden/{name}.txt", invocation.Error));
    }

    [Theory]
    [InlineData("check vat.yaml --all")]
    [InlineData("readings vat.yaml")]
    [InlineData("budget vat.yaml")]
    [InlineData("response vat.yaml")]
    [InlineData("faults vat.yaml")]
    [InlineData("compare old.yaml vat.yaml")]
    public void Colour_TakenAway_LeavesThePlainPage(string arguments)
    {
        string coloured = Invocation.Of(arguments, width: 100, hasColour: true).Output;
        Assert.Contains("\e[", coloured, StringComparison.Ordinal);
        Assert.Equal(Invocation.Of(arguments, width: 100).Output, Escapes().Replace(coloured, ""));
    }

    [Theory]
    [InlineData("check vat.yaml", 40)]
    [InlineData("check vat.yaml", 80)]
    [InlineData("check vat.yaml --all", 120)]
    [InlineData("check broken.yaml", 70)]
    [InlineData("readings vat.yaml", 48)]
    [InlineData("budget vat.yaml", 48)]
    [InlineData("budget vat.yaml", 80)]
    [InlineData("budget vat.yaml", 112)]
    [InlineData("response vat.yaml", 60)]
    [InlineData("faults vat.yaml", 70)]
    public void Lines_OfAPage_StayWithinTheTerminal(string arguments, int width)
    {
        Invocation invocation = Invocation.Of(arguments, width: width);
        // A finding's check and subject are never cut: a name that is half a name finds nothing.
        int limit = Math.Max(width, 2 + 10 + 2 + "display step against converter step, display".Length + 2 + 5);
        Assert.All((invocation.Output + invocation.Error).Split('\n'), line => Assert.InRange(Cells.Width(line), 0, limit));
    }

    // A file's own text must not be able to drive the terminal.
    [Fact]
    public void ControlCharacters_OfAFile_NeverReachTheTerminal()
    {
        Engine engine = Samples.Engine with
        {
            Review = _ => Samples.Review with { Findings = [Samples.Headroom with { Subject = "U1\e[2J\u202E", Statement = "a\tb\nc\a" }] },
        };
        string output = Invocation.Of("check vat.yaml", engine, width: 100).Output;
        Assert.DoesNotContain(output, c => (char.IsControl(c) && c != '\n') || c == '\u202E');
        Assert.Contains("U1\uFFFD[2J\uFFFD", output, StringComparison.Ordinal);
        Assert.Contains("a b c\uFFFD", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(-1, "━━━━━━┼──────")]
    [InlineData(-0.34, "────━━┼──────")]
    [InlineData(-0.001, "─────━┼──────")]
    [InlineData(0, "──────┼──────")]
    [InlineData(0.5, "──────┼━━━───")]
    [InlineData(1, "──────┼━━━━━━")]
    [InlineData(7, "──────┼━━━━━━")]
    [InlineData(double.NaN, "             ")]
    public void MarginBar_OfAMargin_RunsFromTheMiddle(double margin, string expected) => Assert.Equal(expected, MarginBar.Of(margin));

    // Unicode Standard Annex 11: East Asian wide characters take two columns; combining marks none.
    [Theory]
    [InlineData("pH", 2)]
    [InlineData("値", 2)]
    [InlineData("e\u0301", 1)]
    [InlineData("−12\u202FmV", 6)]
    public void Width_OfText_IsInColumns(string text, int expected) => Assert.Equal(expected, Cells.Width(text));

    [Fact]
    public void Caret_UnderWideCharacters_StandsUnderTheWord()
    {
        Instruments.SourceText source = new("値.yaml", "値: 20.0 kV\n");
        Engine engine = Samples.Engine with
        {
            Read = _ => new(null, [Samples.WrongUnit with { Span = Samples.SpanOf("20.0 kV", source) }]),
        };
        string[] lines = Invocation.Of("check 値.yaml", engine).Error.Split('\n');
        Assert.Equal("    1 │ 値: 20.0 kV", lines[1]);
        Assert.Equal("      │     ^^^^^^^", lines[2]);
    }

    [GeneratedRegex("\e\\[[0-9;]*m")]
    private static partial Regex Escapes();
}
