using System.Text;
using Xunit;

namespace Throughline.Instruments.Tests.Reading;

public sealed class SourceFileTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void ReadFile_MissingFile_NamesTheNearest()
    {
        Write("instrument.yaml", Samples.Small);
        Diagnostic diagnostic = Single(Path.Combine(_folder, "instrumnet.yaml"));
        Assert.Equal("file missing", diagnostic.Code);
        Assert.Contains("instrument.yaml", diagnostic.Mend, StringComparison.Ordinal);
    }

    [Fact]
    public void ReadFile_Folder_IsRefused() => Assert.Equal("file is a folder", Single(_folder).Code);

    [Fact]
    public void ReadFile_HundredMegabytes_IsRefusedWithoutBeingRead()
    {
        string path = Path.Combine(_folder, "large.yaml");
        using (FileStream stream = File.Create(path))
        {
            stream.SetLength(100 << 20);
        }

        long before = GC.GetAllocatedBytesForCurrentThread();
        Diagnostic diagnostic = Single(path);
        Assert.Equal("file too large", diagnostic.Code);
        Assert.Equal("100.0 MiB", diagnostic.Found);
        Assert.True(GC.GetAllocatedBytesForCurrentThread() - before < 8 << 20);
    }

    [Theory]
    [InlineData(new byte[] { 0x61, 0x0A, 0x62, 0x3A, 0x20, 0xFF, 0x63 }, 2, 4)]
    [InlineData(new byte[] { 0xC2, 0xB5, 0x0A, 0xC2, 0xB5, 0xC2 }, 2, 2)]
    [InlineData(new byte[] { 0xED, 0xA0, 0x80 }, 1, 1)]
    [InlineData(new byte[] { 0xFF, 0xFE, 0x61, 0x00 }, 1, 1)]
    public void ReadFile_InvalidUtf8_IsLocated(byte[] bytes, int line, int column)
    {
        string path = Path.Combine(_folder, "bytes.yaml");
        File.WriteAllBytes(path, bytes);
        Diagnostic diagnostic = Single(path);
        Assert.Equal("not UTF-8", diagnostic.Code);
        Assert.Equal((line, column), (diagnostic.Span.Line, diagnostic.Span.Column));
    }

    [Fact]
    public void ReadFile_ByteOrderMark_IsNoPartOfTheText()
    {
        string path = Path.Combine(_folder, "bom.yaml");
        File.WriteAllText(path, Samples.Small, new UTF8Encoding(true));
        Assert.Empty(InstrumentReader.ReadFile(path).Diagnostics);
    }

    [Fact]
    public void ReadFile_WithoutPermission_IsRefused()
    {
        string path = Write("secret.yaml", Samples.Small);
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(path, UnixFileMode.None);

            // The superuser reads everything: there the file is simply read.
            Parsed<Instrument> parsed = InstrumentReader.ReadFile(path);
            Assert.Equal(parsed.Value is null ? ["file refused"] : [], parsed.Diagnostics.Select(d => d.Code));
        }
    }

    [Fact]
    public void ReadFile_EmptyFile_SaysSo() => Assert.Equal("empty file", Single(Write("empty.yaml", "")).Code);

    [Fact]
    public void ReadFile_NameThatIsNone_IsRefused() => Assert.Equal("file refused", Single("").Code);

    [Fact]
    public void ReadFile_PartsBesideIt_TakeThePlaceOfGenericOnes()
    {
        string path = Write("instrument.yaml", Samples.Small);
        Write("parts.yaml", "grades: { op amp: { cmos low bias: { bias current: 3 pA typ 9 pA max } } }\n");
        Parsed<Instrument> parsed = InstrumentReader.ReadFile(path);
        Assert.Empty(parsed.Diagnostics);
        OpAmp amplifier = ((CircuitStage)parsed.Value!.Stages[0]).Parts.OfType<OpAmp>().First();
        Assert.Equal((3e-12, -9e-12, 9e-12), (amplifier.Bias!.Quantity.Value, amplifier.Bias.Quantity.Low, amplifier.Bias.Quantity.High));
        Assert.EndsWith("parts.yaml", amplifier.Bias.Quantity.Span.Source!.Name, StringComparison.Ordinal);
    }

    [Fact]
    public void ReadFile_MistakeInThePartsFile_IsLocatedThere()
    {
        string path = Write("instrument.yaml", Samples.Small);
        Write("parts.yaml", "grades:\n  op amp:\n    mine: { offset: 3 Ω }\n");
        Diagnostic diagnostic = Single(path);
        Assert.Equal("wrong unit", diagnostic.Code);
        Assert.EndsWith("parts.yaml:3:21", diagnostic.Span.ToString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("../outside.yaml", "file refused")]
    [InlineData("/etc/hostname", "file refused")]
    [InlineData("absent.yaml", "missing")]
    public void ReadFile_PartsFilesThatAreNotBeside_AreRefused(string named, string code)
    {
        string path = Write("instrument.yaml", $"parts files: [{named}]\n" + Samples.Small);
        Assert.Equal(code, Single(path).Code);
    }

    [Fact]
    public void ReadFile_NamedPartsFile_IsRead()
    {
        string path = Write("instrument.yaml", "parts files: [own/amplifiers.yaml]\n" + Samples.Small.Replace("cmos low bias", "mine", StringComparison.Ordinal));
        Directory.CreateDirectory(Path.Combine(_folder, "own"));
        Write(Path.Combine("own", "amplifiers.yaml"), "grades: { op amp: { mine: { gain: 100 dB min } } }\n");
        Assert.Empty(InstrumentReader.ReadFile(path).Diagnostics);
    }

    private static Diagnostic Single(string path)
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadFile(path);
        Assert.Null(parsed.Value);
        return Assert.Single(parsed.Diagnostics);
    }

    private string Write(string name, string text)
    {
        string path = Path.Combine(_folder, name);
        File.WriteAllText(path, text, new UTF8Encoding(false));
        return path;
    }
}
