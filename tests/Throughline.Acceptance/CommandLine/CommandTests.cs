using Xunit;

namespace Throughline.Acceptance;

/// <summary>What the commands do with their words and what they say to the shell.</summary>
public sealed class CommandTests
{
    [Theory]
    [InlineData("check sound.yaml", 0)]
    [InlineData("check vat.yaml", 1)]
    [InlineData("check broken.yaml", 2)]
    [InlineData("check sound.yaml vat.yaml", 1)]
    [InlineData("check vat.yaml broken.yaml sound.yaml", 2)]
    [InlineData("check sound.yaml --json", 0)]
    [InlineData("check vat.yaml --json", 1)]
    [InlineData("check broken.yaml --json", 2)]
    [InlineData("readings vat.yaml", 0)]
    [InlineData("readings broken.yaml", 2)]
    [InlineData("budget vat.yaml", 0)]
    [InlineData("budget vat.yaml --at 3.6,7 --json", 0)]
    [InlineData("budget broken.yaml", 2)]
    [InlineData("budget broken.yaml --json", 2)]
    [InlineData("response vat.yaml", 0)]
    [InlineData("response vat.yaml --json", 0)]
    [InlineData("response broken.yaml", 2)]
    [InlineData("response broken.yaml --json", 2)]
    [InlineData("faults vat.yaml", 0)]
    [InlineData("faults vat.yaml --json", 0)]
    [InlineData("faults broken.yaml", 2)]
    [InlineData("faults broken.yaml --json", 2)]
    [InlineData("bom vat.yaml", 0)]
    [InlineData("bom vat.yaml --csv", 0)]
    [InlineData("bom vat.yaml --csv --json", 2)]
    [InlineData("bom broken.yaml", 2)]
    [InlineData("bom broken.yaml --json", 2)]
    [InlineData("supplies broken.yaml", 2)]
    [InlineData("supplies broken.yaml --json", 2)]
    [InlineData("loop broken.yaml", 2)]
    [InlineData("loop broken.yaml --json", 2)]
    [InlineData("firmware vat.yaml", 1)]
    [InlineData("firmware broken.yaml", 2)]
    [InlineData("firmware broken.yaml --json", 2)]
    [InlineData("compare sound.yaml vat.yaml", 1)]
    [InlineData("compare sound.yaml broken.yaml", 2)]
    [InlineData("compare broken.yaml sound.yaml --json", 2)]
    [InlineData("schema", 0)]
    [InlineData("completions bash", 0)]
    [InlineData("--version", 0)]
    [InlineData("--help", 0)]
    [InlineData("check --help", 0)]
    public void ExitCode_OfACommand_SaysTheOutcome(string arguments, int expected) => Assert.Equal(expected, Invocation.Of(arguments).Code);

    [Theory]
    [InlineData("", "")]
    [InlineData("chekc vat.yaml", "there is no command 'chekc'; did you mean 'check'?")]
    [InlineData("check", "Required argument 'FILE' missing for command: 'check'.")]
    [InlineData("compare vat.yaml", "Required argument 'NEW' missing for command: 'compare'.")]
    [InlineData("check vat.yaml --jsn", "there is no option '--jsn'; did you mean '--json'?")]
    [InlineData("readings vat.yaml --ambeint 45", "there is no option '--ambeint'; did you mean '--ambient'?")]
    [InlineData("readings vat.yaml extra.yaml", "'extra.yaml' is one argument too many.")]
    [InlineData("readings vat.yaml --ambient hot", "--ambient takes a number from −90 to 250 °C, and 'hot' is none.")]
    [InlineData("readings vat.yaml --ambient 1e9", "--ambient takes a number from −90 to 250 °C, and '1e9' is none.")]
    [InlineData("readings vat.yaml --load -5", "--load takes a number from 0 to 1000000 Ω, and '-5' is none.")]
    [InlineData("readings vat.yaml --at 3,x", "--at takes numbers with commas between, such as 3.6,7, and 'x' is none.")]
    [InlineData("readings vat.yaml --at nan", "--at takes numbers with commas between, such as 3.6,7, and 'nan' is none.")]
    [InlineData("loop vat.yaml --current 12,x", "--current takes numbers with commas between, such as 12,18.5, and 'x' is none.")]
    [InlineData("loop vat.yaml --csv --json", "--csv and --json exclude each other.")]
    [InlineData("budget vat.yaml --at 3,x", "--at takes numbers with commas between, such as 3.6,7, and 'x' is none.")]
    [InlineData("readings vat.yaml --supply lo", "Argument 'lo' not recognized. Must be one of: 'low' 'nominal' 'high'")]
    [InlineData("completions fish", "Argument 'fish' not recognized. Must be one of: 'bash' 'zsh'")]
    public void CommandLine_WithAMistake_IsExplainedAndExits2(string arguments, string expected)
    {
        Invocation invocation = Invocation.Of(arguments);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Contains(expected, invocation.Error, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", invocation.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("readings vat.yaml --at -10,5", "-10,5")]
    [InlineData("readings vat.yaml --at −10 --at 5", "-10,5")]
    [InlineData("readings vat.yaml --at=3.6", "3.6")]
    public void Readings_AtChosenValues_AsksForThem(string arguments, string expected)
    {
        IReadOnlyList<double>? asked = null;
        Engine engine = Samples.Engine with
        {
            Readings = (_, at, _) =>
            {
                asked = at;
                return Samples.Readings;
            },
        };
        Assert.Equal(0, Invocation.Of(arguments, engine).Code);
        Assert.NotNull(asked);
        Assert.Equal(expected, string.Join(',', asked.Select(value => FormattableString.Invariant($"{value}"))));
    }

    [Fact]
    public void Readings_AtChosenConditions_KeepsTheReferenceForTheRest()
    {
        List<Analysis.Conditions?> asked = [];
        Engine engine = Samples.Engine with
        {
            Readings = (_, _, conditions) =>
            {
                asked.Add(conditions);
                return Samples.Readings;
            },
        };
        Invocation.Of("readings vat.yaml --ambient -5 --supply high", engine);
        Assert.Equal([new Analysis.Conditions(-5, 25, 1, 250)], asked);
    }

    [Theory]
    [InlineData("response vat.yaml")]
    [InlineData("response vat.yaml --json")]
    public void Response_WithoutAnOperatingPoint_SaysSoAndExits1(string arguments)
    {
        Invocation invocation = Invocation.Of(arguments, Samples.Engine with { Response = _ => null });
        Assert.Equal(ExitCode.SomeNotMet, invocation.Code);
        Assert.Contains(arguments.EndsWith("--json", StringComparison.Ordinal) ? "\"response\": null" : "no operating point", invocation.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Fault_OfTheProgram_IsOneSentenceAndExits3()
    {
        Engine engine = Samples.Engine with { Review = _ => throw new InvalidOperationException("Two\nlines.") };
        Invocation invocation = Invocation.Of("check vat.yaml", engine);
        Assert.Equal(ExitCode.Fault, invocation.Code);
        Assert.Equal(
            "throughline: a fault of the program, not of your file: Two lines (InvalidOperationException); set THROUGHLINE_TRACE=1 to see where.\n",
            invocation.Error);
        Assert.Contains("   at ", Invocation.Of("check vat.yaml", engine, showsTrace: true).Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("schema", "Instrument file")]
    [InlineData("schema --json", "Instrument file")]
    [InlineData("schema --parts", "Parts file")]
    public void Schema_IsThatOfTheFileAskedFor(string arguments, string title)
    {
        using System.Text.Json.JsonDocument schema = System.Text.Json.JsonDocument.Parse(Invocation.Of(arguments, Engine.Default).Output);
        Assert.Equal(title, schema.RootElement.GetProperty("title").GetString());
        Assert.Equal("https://json-schema.org/draft/2020-12/schema", schema.RootElement.GetProperty("$schema").GetString());
    }

    [Fact]
    public void Check_OfAFileWithAMistake_IsNotJudged()
    {
        Engine engine = Samples.Engine with { Read = _ => new(Samples.Instrument, [Samples.WrongUnit]) };
        Invocation invocation = Invocation.Of("check vat.yaml", engine);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Equal("", invocation.Output);
    }

    [Fact]
    public void Check_OfManyMistakes_ShowsTheFirstAndCountsAll()
    {
        Engine engine = Samples.Engine with { Read = _ => new(null, [.. Enumerable.Repeat(Samples.WrongUnit, 1234)]) };
        string error = Invocation.Of("check vat.yaml", engine).Error;
        Assert.EndsWith("1234 mistakes in vat.yaml, of which the first 50 are shown\n", error, StringComparison.Ordinal);
    }
}
