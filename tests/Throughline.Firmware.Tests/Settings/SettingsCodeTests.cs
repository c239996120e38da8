using System.Text;
using Throughline.Firmware.Tests.Arithmetic;
using Xunit;

namespace Throughline.Firmware.Tests.Settings;

/// <summary>The C against the store: the same memory, byte for byte, through random operations, power cuts and wrong bytes.</summary>
public sealed class SettingsCodeTests
{
    public static TheoryData<string> Layouts =>
    [
        .. Sketches.DemosWithMemory, "sound", "sound\n  order: big endian", "sound\n  guard: crc-32", "sound\n  guard: crc-8", "sound\n  guard: sum-8", "sound\n  guard: none\n  copies: 3",
        "sound\n  mark: false\n  copies: 1", "sound\n  copies written: side by side",
    ];

    [Theory]
    [MemberData(nameof(Layouts))]
    public void Code_ThroughRandomOperationsAndFaults_LeavesTheMemoryOfTheStore(string name)
    {
        const int Operations = 4_000;
        SettingsLayout layout = Sketches.Demos.Contains(name) ? SettingsLayout.Of(Sketches.Demo(name))! : MemorySketches.Layout(MemorySketches.Sound + name["sound".Length..]);
        Assert.Null(layout.Trouble);
        SettingsMemory memory = new(layout.End);
        SettingsStore store = new(layout, memory);
        Array.Fill(memory.Bytes, (byte)0xFF);
        StringBuilder given = new();
        StringBuilder wanted = new();
        Random random = new(17);
        long[] values = new long[layout.Items.Length];
        long[] loaded = new long[layout.Items.Length];
        layout.FactoryValues(values);
        for (int n = 0; n < Operations; n++)
        {
            int address = random.Next(4) == 0 ? random.Next(layout.End) : -1;
            int spoilt = random.Next(256);
            if (address >= 0)
            {
                memory.Bytes[address] = (byte)spoilt;
            }

            int fails = random.Next(2) == 0 ? random.Next(40) : -1;
            int torn = random.Next(256);
            int what = random.Next(5);
            if (what == 4)
            {
                // What an older revision has left, or nothing.
                int blank = random.Next(2) == 0 ? 0xFF : 0;
                Array.Fill(memory.Bytes, (byte)blank);
                given.Append(FormattableString.Invariant($"b {blank}\n"));
                foreach (SettingsForm older in layout.Records.SelectMany(r => r.Older))
                {
                    byte[] image = new byte[older.Length];
                    store.Pack(older, [.. older.Items.Select(i => random.NextInt64((long)i.Word.Least, (long)i.Word.Greatest + 1))], image);
                    foreach (int start in older.Starts)
                    {
                        image.CopyTo(memory.Bytes, start);
                        for (int i = 0; i < image.Length; i++)
                        {
                            given.Append(FormattableString.Invariant($"p {start + i} {image[i]}\n"));
                        }
                    }
                }

                address = -1;
            }

            memory.PowerOn(fails, (byte)torn);
            for (int i = 0; i < values.Length && what == 1; i++)
            {
                SettingsItem item = layout.Items[i];
                values[i] = item.IsFloat ? random.NextInt64(1L << 32) : random.Next(8) == 0 ? random.NextInt64((long)item.Word.Least, (long)item.Word.Greatest + 1) : random.NextInt64(item.Low, item.High + 1);
            }

            given.Append(FormattableString.Invariant($"{what} {address} {spoilt} {fails} {torn}"));
            string state = "-";
            switch (what)
            {
                case 1:
                    store.Save(values);
                    given.Append(' ').AppendJoin(' ', values);
                    break;
                case 2:
                    store.Restore(loaded);
                    break;
                default:
                    state = ((int)store.Load(loaded)).ToString(System.Globalization.CultureInfo.InvariantCulture) + " " + string.Join(' ', loaded);
                    break;
            }

            given.Append('\n');
            wanted.Append(FormattableString.Invariant($"{state} {Convert.ToHexString(memory.Bytes)}\n"));
        }

        using HostProgram program = new(
        [
            .. SettingsCode.Write(layout),
            new GeneratedFile("board.h", "#include <stdint.h>\n" + SettingsCode.BoardFunctions, "the board of the test"),
            new GeneratedFile("main.c", Program(layout), "plays operations"),
        ]);
        Assert.Equal(wanted.ToString(), program.Run(given.ToString()));
    }

    /// <summary>Plays the board, whose power fails at a write and leaves a byte.</summary>
    private static string Program(SettingsLayout layout)
    {
        string give = string.Concat(layout.Items.Select(i => $"        if (scanf(\"%\" SCNd64, &v) != 1) return 2;\n        s.{i.CodeName} = ({i.Word.CType})v;\n"));
        string show = string.Concat(layout.Items.Select(i => $"        printf(\" %\" PRId64, (int64_t)s.{i.CodeName});\n"));
        return $$"""
            #include <inttypes.h>
            #include <stdio.h>
            #include <string.h>
            #include "settings.h"
            #include "board.h"
            static uint8_t memory[{{layout.End}}];
            static int fails, writes, dead, torn;
            uint8_t board_read_memory(uint16_t address) { return memory[address]; }
            void board_write_memory(uint16_t address, uint8_t value)
            {
                if (dead) return;
                if (writes == fails) { memory[address] = (uint8_t)torn; dead = 1; return; }
                writes++;
                memory[address] = value;
            }
            int main(void)
            {
                char what;
                unsigned i;
                memset(memory, 255, sizeof memory);
                while (scanf(" %c", &what) == 1)
                {
                    struct settings s;
                    int address, spoilt;
                    int64_t v = 0;
                    memset(&s, 0, sizeof s);
                    if (what == 'b') { if (scanf("%d", &spoilt) != 1) return 2; memset(memory, spoilt, sizeof memory); continue; }
                    if (what == 'p') { if (scanf("%d %d", &address, &spoilt) != 2) return 2; memory[address] = (uint8_t)spoilt; continue; }
                    if (scanf("%d %d %d %d", &address, &spoilt, &fails, &torn) != 4) return 2;
                    if (address >= 0) memory[address] = (uint8_t)spoilt;
                    writes = 0;
                    dead = 0;
                    if (what == '1')
                    {
            {{give}}            settings_save(&s);
                        printf("-");
                    }
                    else if (what == '2')
                    {
                        settings_restore(&s);
                        printf("-");
                    }
                    else
                    {
                        printf("%d", (int)settings_load(&s));
            {{show}}        }
                    printf(" ");
                    for (i = 0; i < sizeof memory; i++) printf("%02X", memory[i]);
                    printf("\n");
                    (void)v;
                }
                return 0;
            }
            """;
    }
}
