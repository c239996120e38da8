using System.Collections.Immutable;
using System.Text;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>The C, compiled with every warning an error and every undefined behaviour caught, against the model: number for number.</summary>
public sealed class GeneratedCodeTests
{
    public static TheoryData<string> Instruments => [.. Sketches.Demos, "platinum", "couple", "turning", "truncating", "wide"];

    [Theory]
    [MemberData(nameof(Instruments))]
    public void Code_OverEveryConverterCodeAndAThousandCalibrations_IsTheModel(string name)
    {
        ArithmeticDesign design = ArithmeticDesign.Of(Sketches.Named(name))!;
        const long MostCodes = 1 << 16;
        long count = (long)(design.Code.High - design.Code.Low) + 1;
        long stride = Math.Max(1, count / MostCodes);
        List<ArithmeticInputs> inputs = [];
        for (long code = (long)design.Code.Low; code <= (long)design.Code.High; code += stride)
        {
            inputs.Add(design.Nominal(code));
        }

        foreach (long code in new[] { (long)design.Code.Low, (long)design.Code.High })
        {
            inputs.AddRange(design.Corners(code));
        }

        inputs.AddRange(ArithmeticCode.TestVectors(design, 2_000).Skip(64).Select(v => v.Inputs));
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        StringBuilder given = new();
        StringBuilder wanted = new();
        foreach (ArithmeticInputs i in inputs)
        {
            given.Append(FormattableString.Invariant($"{i.Code} {i.Temperature} {i.Zero} {i.Gain}\n"));
            wanted.Append(string.Join(' ', ArithmeticCode.Outputs(design, i, numbers))).Append('\n');
        }

        using HostProgram program = new(ArithmeticCode.Write(design));
        Assert.Equal("320 vectors, 0 failed\n", program.Run(""));
        Assert.Equal(wanted.ToString(), program.Run(given.ToString(), "-"));
    }

    [Fact]
    public void Code_OfTheSameFile_IsTheSameText()
    {
        string[] Texts() => [.. ArithmeticCode.Write(ArithmeticDesign.Of(Sketches.Demo("nutrient-ph"))!).Select(f => f.Text)];
        Assert.Equal(Texts(), Texts());
    }

    [Fact]
    public void Code_HoldsRevisionAndDigest_AndNoFloatingPoint()
    {
        ImmutableArray<GeneratedFile> files = ArithmeticCode.Write(ArithmeticDesign.Of(Sketches.Demo("cold-store-pt100"))!);
        Assert.All(files, f =>
        {
            Assert.Contains("revision A", f.Text, StringComparison.Ordinal);
            Assert.Matches("[0-9a-f]{64}", f.Text);
            Assert.All(f.Text, c => Assert.True(c is '\n' or (>= ' ' and < '\u007f')));
            Assert.DoesNotContain("double", f.Text, StringComparison.Ordinal);
            Assert.DoesNotContain("float", f.Text, StringComparison.Ordinal);
            Assert.DoesNotContain("alloc", f.Text, StringComparison.Ordinal);
        });
    }

    [Fact]
    public void Code_OfAnOverflowingArithmetic_IsNotWritten()
    {
        ArithmeticDesign design = ArithmeticDesign.Of(Sketches.Platinum(", words: 8 bit"))!;
        Assert.Throws<ArgumentException>(() => ArithmeticCode.Write(design));
        Assert.NotNull(FirmwareCode.Of(design.Law.Instrument).Trouble);
    }
}
