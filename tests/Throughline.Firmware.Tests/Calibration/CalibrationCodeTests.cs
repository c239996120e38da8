using System.Collections.Immutable;
using System.Text;
using Xunit;

namespace Throughline.Firmware.Tests.Calibration;

/// <summary>The C of the calibration, compiled with every warning an error and every undefined behaviour caught, against the model: number for number.</summary>
public sealed class CalibrationCodeTests
{
    public static TheoryData<string> Instruments => [.. CalibrationSketches.All];

    [Theory]
    [MemberData(nameof(Instruments))]
    public void Code_OfThousandsOfCalibrations_IsTheModel(string name)
    {
        CalibrationDesign design = CalibrationDesign.Of(CalibrationSketches.Named(name))!;
        StringBuilder given = new();
        StringBuilder wanted = new();
        foreach (CalibrationInputs inputs in CalibrationTakings.Random(design, 99).Take(4000))
        {
            for (int i = 0; i < design.Points; i++)
            {
                given.Append(FormattableString.Invariant($"{inputs.Entered[i]} {inputs.Temperature[i]} {inputs.Taken[i]} "));
            }

            given.Append('\n');
            wanted.AppendJoin(' ', CalibrationCode.Numbers(design.Judge(inputs))).Append('\n');
        }

        ImmutableArray<GeneratedFile> files = [.. ArithmeticCode.Write(design.Arithmetic), .. CalibrationCode.Write(design)];
        Assert.All(files, file =>
        {
            Assert.All(file.Text, c => Assert.True(c is '\n' or (>= ' ' and < '\u007f')));
            Assert.DoesNotContain("double", file.Text, StringComparison.Ordinal);
            Assert.DoesNotContain("float", file.Text, StringComparison.Ordinal);
        });

        // Of the arithmetic its header is enough.
        GeneratedFile[] needed = [.. files.Where(f => f.Name is not ("arithmetic.c" or "arithmetic_test.c"))];
        using HostProgram judging = new(needed);
        Assert.Equal("200 vectors, 0 failed\n", judging.Run(""));
        Assert.Equal(wanted.ToString(), judging.Run(given.ToString(), "-"));

        // The sequence, event by event.
        using HostProgram sequence = new([.. needed.Where(f => f.Name != "calibration_test.c"), new GeneratedFile("events.c", SequenceScript.Driver(design), "plays events")]);
        (string events, string states) = SequenceScript.Random(design, 5000);
        Assert.Equal(states, sequence.Run(events));
    }
}
