using System.Globalization;
using System.Text;

namespace Throughline.Firmware;

/// <summary>Writes a test of the whole instrument's C for the host: a board of its own, and a trial whose outcome the model has said.</summary>
internal static class InstrumentTestCode
{
    public const string Name = "instrument_test.c";

    /// <summary>Steps of the trial: enough to see most screens, few enough to read and to compile.</summary>
    private const int Steps = 400;

    /// <summary>Offset and prime of the hash FNV-1a of 64 bits (G. Fowler, L. C. Noll, K.-P. Vo).</summary>
    private const ulong HashStart = 14695981039346656037UL;
    private const ulong HashPrime = 1099511628211UL;

    public static GeneratedFile Write(PanelProgram program) =>
        new(Name, new CodeFile(program.Arithmetic.Law.Instrument, "a test for the host. Compile it with every other file that is no test; it ends with 0 when every step agrees.") + Source(program), "a test of everything for the host, with a trial");

    /// <summary>Of the display, then of the memory.</summary>
    public static ulong Hash(PanelTrial trial)
    {
        ulong hash = HashStart;
        foreach (byte b in trial.Engine.Panel.Display)
        {
            hash = (hash ^ b) * HashPrime;
        }

        foreach (byte b in trial.Memory)
        {
            hash = (hash ^ b) * HashPrime;
        }

        return hash;
    }

    private static string Source(PanelProgram program)
    {
        PanelTrial trial = new(program, 1);
        StringBuilder steps = new();
        bool hasMemory = trial.Memory.Length > 0;
        for (int i = 0; i < Steps; i++)
        {
            PanelTrialStep s = trial.Next();
            steps.Append(CultureInfo.InvariantCulture, $"    {{{s.Ticks}, {s.Milliseconds}, {s.Keys}, {s.Code}, {s.Temperature}, {s.Memory}, {trial.Engine.OutputCode}, {Hash(trial)}U}},\n");
        }

        ArithmeticDesign design = program.Arithmetic;
        StringBuilder board = new();
        board.Append(CultureInfo.InvariantCulture, $"{design.Code.Word.CType} board_read_converter(void) {{ return ({design.Code.Word.CType})now.code; }}\n");
        if (design.Temperature is { } temperature)
        {
            board.Append(CultureInfo.InvariantCulture, $"{temperature.Word.CType} board_read_temperature(void) {{ return ({temperature.Word.CType})now.temperature; }}\n");
        }

        if (design.OutputWord is { } output)
        {
            board.Append(CultureInfo.InvariantCulture, $"void board_write_converter({output.CType} code) {{ output = (int64_t)code; }}\n");
        }

        if (hasMemory)
        {
            board.Append("""
                uint8_t board_read_memory(uint16_t address) { return memory[address]; }
                void board_write_memory(uint16_t address, uint8_t value)
                {
                    if (fails_at < 0 || writes < fails_at) { memory[address] = value; }
                    else if (writes == fails_at) { memory[address] = torn; }
                    writes++;
                }

                """);
        }

        return $$"""
            #include <inttypes.h>
            #include <stdio.h>
            #include <string.h>

            #include "arithmetic.h"
            #include "board.h"
            #include "instrument.h"
            #include "panel.h"

            /* Readings and the time between them, milliseconds; keys; code; temperature; what happens to the memory: -1 nothing, -2 the power goes and comes, less: it fails at
               write (-3 - m) / 256 and leaves the remainder, else byte m / 256 becomes the remainder. Then what the output converter has and a hash (FNV-1a) of display and memory. */
            struct step
            {
                uint32_t ticks;
                uint32_t milliseconds;
                uint64_t keys;
                int64_t code;
                int64_t temperature;
                int64_t memory;
                int64_t output;
                uint64_t hash;
            };

            static const struct step steps[] = {
            {{steps.ToString().TrimEnd('\n')}}
            };

            static struct step now;
            static uint8_t display[PANEL_ROWS][PANEL_COLUMNS];
            static int64_t output;
            static uint32_t clock_now;
            {{(hasMemory ? string.Create(CultureInfo.InvariantCulture, $"static uint8_t memory[{trial.Memory.Length}];\nstatic int64_t writes;\nstatic int64_t fails_at = -1;\nstatic uint8_t torn;\n") : "")}}
            {{board}}uint16_t board_milliseconds(void) { return (uint16_t)(clock_now & 65535U); }
            {{PanelCode.KeysType(program.Panel)}} board_read_keys(void) { return ({{PanelCode.KeysType(program.Panel)}})now.keys; }
            void board_put_text(uint8_t row, uint8_t column, uint8_t code) { display[row][column] = code; }

            static void power_on(void)
            {
                memset(display, 0, sizeof display);
            {{(hasMemory ? "    fails_at = -1;\n" : "")}}    instrument_start();
            }

            static uint64_t run(void)
            {
                uint64_t hash = {{HashStart}}U;
                size_t i;
                if (now.memory == -2) { power_on(); }
            {{(hasMemory ? """
                else if (now.memory >= 0) { memory[now.memory / 256] = (uint8_t)(now.memory % 256); }
                else if (now.memory <= -3)
                {
                    writes = 0;
                    fails_at = (-3 - now.memory) / 256;
                    torn = (uint8_t)((-3 - now.memory) % 256);
                }

            """ : "")}}    for (i = 0; i < now.ticks; i++)
                {
                    clock_now += now.milliseconds;
                    instrument_tick();
                }
                for (i = 0; i < sizeof display; i++) { hash = (hash ^ display[i / PANEL_COLUMNS][i % PANEL_COLUMNS]) * {{HashPrime}}U; }
            {{(hasMemory ? $"    for (i = 0; i < sizeof memory; i++) {{ hash = (hash ^ memory[i]) * {HashPrime}U; }}\n" : "")}}    return hash;
            }

            /* With the argument -, every line of the input holds the first six numbers of a step; display, output and hash come out line by line. */
            int main(int count, char **words)
            {
                unsigned failed = 0;
                size_t i;
                uint64_t hash;
            {{(hasMemory ? "    memset(memory, 0xFF, sizeof memory);\n" : "")}}    power_on();
                if (count > 1 && strcmp(words[1], "-") == 0)
                {
                    while (scanf("%" SCNu32 " %" SCNu32 " %" SCNu64 " %" SCNd64 " %" SCNd64 " %" SCNd64, &now.ticks, &now.milliseconds, &now.keys, &now.code, &now.temperature, &now.memory) == 6)
                    {
                        hash = run();
                        for (i = 0; i < sizeof display; i++) { printf("%02X", (unsigned)display[i / PANEL_COLUMNS][i % PANEL_COLUMNS]); }
                        printf(" %" PRId64 " %016" PRIX64 "\n", output, hash);
                    }
                    return 0;
                }
                for (i = 0; i < sizeof steps / sizeof steps[0]; i++)
                {
                    now = steps[i];
                    hash = run();
                    if (output != steps[i].output || hash != steps[i].hash)
                    {
                        failed++;
                        printf("step %u: output %" PRId64 " for %" PRId64 ", display or memory %s\n", (unsigned)i, output, steps[i].output, hash == steps[i].hash ? "agree" : "differ");
                    }
                }
                printf("%u steps, %u failed\n", (unsigned)(sizeof steps / sizeof steps[0]), failed);
                return failed == 0 ? 0 : 1;
            }

            """;
    }
}
