using System.Collections.Immutable;
using System.Diagnostics;
using System.Text;
using Xunit;

namespace Throughline.Firmware.Tests.Calibration;

/// <summary>The C of the calibration, compiled with every warning an error and every undefined behaviour caught, against the model: number for number.</summary>
public sealed class CalibrationCodeTests
{
    private static readonly string[] Strict =
        ["-std=c99", "-O1", "-Wall", "-Wextra", "-Wconversion", "-Wpedantic", "-Werror", "-fsanitize=undefined,address", "-fno-sanitize-recover=all"];

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

        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            ImmutableArray<GeneratedFile> files = [.. ArithmeticCode.Write(design.Arithmetic), .. CalibrationCode.Write(design)];
            foreach (GeneratedFile file in files)
            {
                File.WriteAllText(Path.Combine(folder, file.Name), file.Text);
                Assert.All(file.Text, c => Assert.True(c is '\n' or (>= ' ' and < '\u007f')));
                Assert.DoesNotContain("double", file.Text, StringComparison.Ordinal);
                Assert.DoesNotContain("float", file.Text, StringComparison.Ordinal);
            }

            (int code, string said) = Run(folder, "gcc", [.. Strict, "-o", "test", "calibration.c", "calibration_test.c"], "");
            Assert.True(code == 0, said);
            (code, said) = Run(folder, Path.Combine(folder, "test"), [], "");
            Assert.Equal("200 vectors, 0 failed\n", said);
            Assert.Equal(0, code);
            (code, said) = Run(folder, Path.Combine(folder, "test"), ["-"], given.ToString());
            Assert.Equal(wanted.ToString(), said);
            Assert.Equal(0, code);

            // The sequence, event by event.
            File.WriteAllText(Path.Combine(folder, "events.c"), SequenceScript.Driver(design));
            (code, said) = Run(folder, "gcc", [.. Strict, "-o", "events", "calibration.c", "events.c"], "");
            Assert.True(code == 0, said);
            (string events, string states) = SequenceScript.Random(design, 5000);
            (code, said) = Run(folder, Path.Combine(folder, "events"), [], events);
            Assert.Equal(states, said);
            Assert.Equal(0, code);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static (int Code, string Said) Run(string folder, string program, string[] words, string input)
    {
        using Process process = new()
        {
            StartInfo = new ProcessStartInfo(program, words) { WorkingDirectory = folder, RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true },
        };

        // A sanitizer that watches for leaks cannot work under a tracer, and nothing here allocates.
        process.StartInfo.Environment["ASAN_OPTIONS"] = "detect_leaks=0";
        process.Start();
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        Task<string> errors = process.StandardError.ReadToEndAsync();
        process.StandardInput.Write(input);
        process.StandardInput.Close();
        process.WaitForExit();
        return (process.ExitCode, output.Result + errors.Result);
    }
}
