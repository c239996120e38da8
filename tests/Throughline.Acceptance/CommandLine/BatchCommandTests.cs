using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The virtual batch from the command line.</summary>
public sealed class BatchCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private static string Demo => Repository.PathOf("demo", "nutrient-ph", "instrument.yaml");

    private string Part(int number) => Path.Combine(_folder, $"part{number}");

    [Fact]
    public void Shards_Merged_SayWhatOneRunSays()
    {
        string whole = Run("batch", Demo, "--units", "300", "--seed", "4", "--json");
        Run("batch", Demo, "--units", "300", "--seed", "4", "--shard", "1/2", "--keep", Part(1));
        Run("batch", Demo, "--units", "300", "--seed", "4", "--shard", "2/2", "--keep", Part(2), "--threads", "3");
        Assert.Equal(whole, Run("merge", Demo, Part(2), Part(1), "--json"));
    }

    [Fact]
    public void Parts_OfAnotherBatchOrNoneAtAll_AreRefusedInOneSentence()
    {
        Run("batch", Demo, "--units", "200", "--shard", "1/2", "--keep", Part(1));
        Run("batch", Demo, "--units", "200", "--seed", "9", "--shard", "2/2", "--keep", Part(2));
        File.WriteAllText(Part(3), "not a part");
        foreach (string[] arguments in new[] { new[] { Part(1), Part(2) }, [Part(1), Part(1)], [Part(3)], [Part(4)] })
        {
            Invocation invocation = Invocation.OfWords(["merge", Demo, .. arguments], Engine.Default);
            Assert.Equal(ExitCode.Unreadable, invocation.Code);
            Assert.Equal("", invocation.Output);
            Assert.Single(invocation.Error.TrimEnd('\n').Split('\n'));
        }
    }

    [Theory]
    [InlineData("--units", "0")]
    [InlineData("--units", "1.5")]
    [InlineData("--shard", "3/2")]
    [InlineData("--shard", "0/2")]
    [InlineData("--seed", "-1")]
    [InlineData("--unit", "x")]
    public void AWrongNumber_IsAMistakeOfTheCommandLine(string option, string value)
    {
        Invocation invocation = Invocation.OfWords(["batch", Demo, option, value], Engine.Default);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Contains(option, invocation.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Csv_HasARowForEveryReading()
    {
        string[] lines = Run("batch", Demo, "--units", "64", "--csv").TrimEnd('\n').Split('\n');
        Assert.Equal(1 + (8 * 5 * 2), lines.Length);
        int columns = lines[0].Split(',').Length;
        Assert.All(lines, line => Assert.Equal(columns, System.Text.RegularExpressions.Regex.Replace(line, "\"[^\"]*\"", "").Split(',').Length));
    }

    [Fact]
    public void Unit_OfTheWorst_HasTheErrorThatTheBatchSays()
    {
        string text = Run("batch", Demo, "--units", "256");
        string unit = text.Split("`--unit ")[1].Split('`')[0];
        Assert.Contains($"unit {unit} of seed 1", Run("batch", Demo, "--unit", unit), StringComparison.Ordinal);
    }

    private static string Run(params string[] arguments)
    {
        Invocation invocation = Invocation.OfWords(arguments, Engine.Default);
        Assert.Equal("", invocation.Error);
        Assert.Equal(ExitCode.AllMet, invocation.Code);
        return invocation.Output;
    }
}
