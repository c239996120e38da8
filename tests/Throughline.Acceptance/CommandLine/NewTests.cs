using Throughline.Commands;
using Xunit;

namespace Throughline.Acceptance;

public sealed class NewTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void New_InAFolderThatIsNotThere_WritesTheTemplates()
    {
        string folder = Path.Combine(_folder, "a", "b");
        Invocation invocation = Invocation.OfWords(["new", folder]);
        Assert.Equal((0, ""), (invocation.Code, invocation.Error));
        Assert.Equal(NewCommand.Files.Order(), Directory.EnumerateFiles(folder).Select(Path.GetFileName).Order());
        Assert.All(NewCommand.Files, name => Assert.Equal(NewCommand.Template(name), File.ReadAllText(Path.Combine(folder, name))));
    }

    [Theory]
    [InlineData("instrument.yaml")]
    [InlineData("parts.yaml")]
    public void New_WhereAFileExists_TouchesNothing(string existing)
    {
        File.WriteAllText(Path.Combine(_folder, existing), "mine");
        Invocation invocation = Invocation.OfWords(["new", _folder]);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Contains(existing + " exists already", invocation.Error, StringComparison.Ordinal);
        Assert.Equal([existing], Directory.EnumerateFiles(_folder).Select(Path.GetFileName));
        Assert.Equal("mine", File.ReadAllText(Path.Combine(_folder, existing)));
    }

    [Fact]
    public void New_WhereAFileIsInTheWay_SaysSo()
    {
        string file = Path.Combine(_folder, "file");
        File.WriteAllText(file, "");
        Invocation invocation = Invocation.OfWords(["new", file]);
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Contains("cannot be written", invocation.Error, StringComparison.Ordinal);
    }
}
