using System.Globalization;
using System.Text;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Toolchains;
using Xunit;

namespace Throughline.Firmware.Tests.OutputTrim;

/// <summary>The trim on simulated 8-bit processors against the model, number for number.</summary>
public sealed class OutputTrimProcessorTests
{
    private static readonly OutputTrimDesign Design = OutputTrimDesign.Of(Sketches.Demo("hopper-bridge"))!;

    [Theory]
    [InlineData("avr-gcc")]
    [InlineData("sdcc")]
    public void Trim_OnASimulatedProcessor_IsTheModel(string compiler)
    {
        Toolchain toolchain = Toolchain.All.Single(t => t.Command == compiler && t.Simulated is not null);
        (long Low, long High, long Asked)[] given = [.. Given()];
        using Folder folder = new([.. OutputTrimCode.Write(Design).Where(f => !f.Name.EndsWith("_test.c", StringComparison.Ordinal)), new GeneratedFile("run.c", Program(toolchain.Simulated!, given), "")]);
        (string? run, string said) = toolchain.Compile(folder.Path, "run.c");
        (string? code, string further) = toolchain.Compile(folder.Path, "output_trim.c");
        Assert.True(run is not null && code is not null, said + further);
        (int linked, said) = Tool.Run(folder.Path, toolchain.Command, [.. toolchain.Options, run, code, "-o", toolchain.Simulated!.ProgramName]);
        Assert.True(linked == 0, said);
        IReadOnlyList<uint[]> lines = toolchain.Simulated.Run(folder.Path);
        Assert.Equal(given.Length, lines.Count);
        for (int i = 0; i < given.Length; i++)
        {
            long[] wanted = OutputTrimCode.Numbers(Design, given[i].Low, given[i].High, given[i].Asked);
            long[] found = [.. lines[i].Select(number => (long)(int)number)];
            Assert.True(wanted.SequenceEqual(found), $"{given[i]}: {string.Join(' ', found)} for {string.Join(' ', wanted)}");
        }
    }

    /// <summary>Every corner of what is entered and asked for, and one to either side of what is accepted; then numbers spread over all of it.</summary>
    private static IEnumerable<(long Low, long High, long Asked)> Given()
    {
        const long Steps = 16 * 16_383;
        foreach (long low in new[] { 3749, 3750, 4000, 4250, 4251 })
        {
            foreach (long high in new[] { 19_749, 19_750, 20_000, 20_250, 20_251 })
            {
                foreach (long asked in new[] { 0, 2712 * 16, 8312 * 16, 13_912 * 16, Steps })
                {
                    yield return (low, high, asked);
                }
            }
        }

        for (long i = 0; i < 400; i++)
        {
            yield return (3750 + (i * 37 % 501), 19_750 + (i * 101 % 501), i * 7919 * 31 % (Steps + 1));
        }
    }

    private static string Program(SimulatedProcessor processor, (long Low, long High, long Asked)[] given)
    {
        StringBuilder table = new();
        foreach ((long low, long high, long asked) in given)
        {
            table.Append(CultureInfo.InvariantCulture, $"    {{{low}, {high}, {asked}}},\n");
        }

        return "#include <stdint.h>\n" + processor.Prelude.ReplaceLineEndings("\n") +
            $$"""
            #include "output_trim.h"

            struct given
            {
                int32_t low, high, asked;
            };

            static const struct given table[] STORED = {
            {{table}}};

            static struct given given;

            {{SimulatedProcessor.Telling.ReplaceLineEndings("\n")}}

            int main(void)
            {
                struct output_trim trim;
                uint16_t i;
                uint8_t is_accepted;
                begin();
                (void)has_wrapped();
                (void)now();
                for (i = 0; i < sizeof table / sizeof table[0]; i++)
                {
                    take(&given, &table[i], sizeof given);
                    trim.offset = 0;
                    trim.gain = 0;
                    is_accepted = output_trim_fit(&trim, given.low, given.high);
                    say("=");
                    hex(is_accepted);
                    hex((uint32_t)(int32_t)trim.offset);
                    hex((uint32_t)(int32_t)trim.gain);
                    hex(output_trim_code(&trim, (uint32_t)given.asked));
                    put('\n');
                }
                say("end of run\n");
                finish();
                for (;;)
                {
                }
            }
            """;
    }
}
