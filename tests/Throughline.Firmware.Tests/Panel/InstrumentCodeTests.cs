using System.Globalization;
using System.Text;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Panel;

/// <summary>The C of the whole instrument against its model: display, output code and every byte of the settings memory, after every event.</summary>
public sealed class InstrumentCodeTests
{
    private const int Events = 100_000;

    public static TheoryData<string> Demos => [.. Sketches.Demos];

    [Theory]
    [MemberData(nameof(Demos))]
    public void Code_OverAHundredThousandRandomEvents_IsTheModel(string demo)
    {
        Instrument instrument = Sketches.Demo(demo);
        PanelProgram program = PanelProgram.Of(instrument)!;
        SettingsLayout layout = SettingsLayout.Of(instrument)!;
        World world = new(program, layout, seed: 3);
        StringBuilder given = new();
        List<string> wanted = [];
        HashSet<int> screens = [];
        int accepted = 0;
        int trimmed = 0;
        for (int i = 0; i < Events; i++)
        {
            KeptSettings before = world.Engine.Kept;
            given.Append(world.Next()).Append('\n');
            wanted.Add(world.Seen());
            screens.Add(world.Engine.Panel.Screen);
            trimmed += before.TrimOffset != world.Engine.Kept.TrimOffset ? 1 : 0;
            accepted += before.Zero != world.Engine.Kept.Zero ? 1 : 0;
        }

        // A test in which nobody ever calibrated would prove little.
        Assert.Equal(program.Screens.Length, screens.Count);
        Assert.InRange(accepted, 10, Events);
        Assert.Equal(program.HasTrimScreens, trimmed > 10);

        using HostProgram host = new([.. FirmwareCode.Of(instrument).Files.Where(f => !f.Name.EndsWith("_test.c", StringComparison.Ordinal)), new("host.c", Host(program, layout), "")]);
        string[] found = host.Run(given.ToString()).Split('\n');
        Assert.Equal(wanted.Count + 1, found.Length);
        for (int i = 0; i < wanted.Count; i++)
        {
            Assert.True(wanted[i] == found[i], $"event {i}\nmodel {wanted[i]}\nC     {found[i]}");
        }
    }

    private static string Host(PanelProgram program, SettingsLayout layout) =>
        """
        #include <inttypes.h>
        #include <stdio.h>
        #include "arithmetic.h"
        #include "board.h"
        #include "instrument.h"
        #include "panel.h"

        static unsigned char display[PANEL_ROWS][PANEL_COLUMNS];
        static unsigned char memory[MEMORY];
        static long next_code, next_temperature, output;
        static unsigned long keys, clock_now;

        CODE board_read_converter(void) { return (CODE)next_code; }
        TEMPERATURE
        void board_write_converter(OUTPUT code) { output = (long)code; }
        uint8_t board_read_memory(uint16_t address) { return memory[address]; }
        void board_write_memory(uint16_t address, uint8_t value) { memory[address] = value; }
        uint16_t board_milliseconds(void) { return (uint16_t)(clock_now & 65535U); }
        panel_keys board_read_keys(void) { return (panel_keys)keys; }
        void board_put_text(uint8_t row, uint8_t column, uint8_t code) { display[row][column] = code; }

        int main(void)
        {
            unsigned ticks, elapsed, r, c;
            long spoilt;
            for (r = 0; r < sizeof memory; r++) { memory[r] = 0xFF; }
            instrument_start();
            while (scanf("%u %u %lu %ld %ld %ld", &ticks, &elapsed, &keys, &next_code, &next_temperature, &spoilt) == 6)
            {
                uint64_t hash = 14695981039346656037ULL;
                if (spoilt >= 0) { memory[spoilt / 256] = (unsigned char)(spoilt % 256); }
                if (spoilt == -2)
                {
                    for (r = 0; r < PANEL_ROWS; r++) { for (c = 0; c < PANEL_COLUMNS; c++) { display[r][c] = 0; } }
                    instrument_start();
                }
                for (r = 0; r < ticks; r++)
                {
                    clock_now += elapsed;
                    instrument_tick();
                }
                for (r = 0; r < sizeof memory; r++) { hash = (hash ^ memory[r]) * 1099511628211ULL; }
                for (r = 0; r < PANEL_ROWS; r++)
                {
                    for (c = 0; c < PANEL_COLUMNS; c++) { printf("%02X", display[r][c]); }
                }
                printf(" %ld %016" PRIX64 "\n", output, hash);
            }
            return 0;
        }
        """
        .Replace("MEMORY", layout.Size.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal)
        .Replace("CODE", program.Arithmetic.Code.Word.CType, StringComparison.Ordinal)
        .Replace("OUTPUT", program.Arithmetic.OutputWord!.Value.CType, StringComparison.Ordinal)
        .Replace(
            "TEMPERATURE",
            program.Arithmetic.Temperature is { } t ? $"{t.Word.CType} board_read_temperature(void) {{ return ({t.Word.CType})next_temperature; }}" : "",
            StringComparison.Ordinal);

    /// <summary>A person who tries things, a sensor that now rests in a standard and now does not, memory that now and then forgets.</summary>
    private sealed class World
    {
        private readonly PanelProgram _program;
        private readonly SettingsMemory _memory;
        private readonly SettingsLayout _layout;
        private readonly Random _random;
        private readonly List<long> _codes = [];
        private long _code;
        private long _temperature = 2500;
        private ulong _keys;

        public World(PanelProgram program, SettingsLayout layout, int seed)
        {
            (_program, _layout, _random) = (program, layout, new Random(seed));
            _memory = new SettingsMemory((int)layout.Size);
            Array.Fill(_memory.Bytes, byte.MaxValue);
            PanelPlayer player = new(program.Arithmetic.Law.Instrument);
            Analysis.SimulatedUnit unit = new(program.Arithmetic.Law.Instrument);
            for (int i = 0; i < program.Machine.Points; i++)
            {
                unit.Measurand = player.Instrument.Calibration!.Standards[i].At(25);
                _codes.Add(unit.Code()!.Value);
            }

            _code = _codes[0];
            Engine = NewEngine();
        }

        public PanelEngine Engine { get; private set; }

        /// <summary>Ticks, milliseconds of each, keys, code, temperature, and what happens to the memory: −1 nothing, −2 the power goes and comes, else address × 256 + value.</summary>
        public string Next()
        {
            int milliseconds = _random.Next(8) switch { 0 => 1 + _random.Next(60), 1 => 400, _ => 5 };
            int ticks = _random.Next(6) == 0 ? 200 : 1 + _random.Next(30);
            PanelProgramScreen screen = _program.Screens[Engine.Panel.Screen];
            int dice = _random.Next(100);
            _keys = dice < 40 ? 0 : dice < 90 ? 1UL << _random.Next(_program.Panel.Keys) : dice < 96 ? _keys : (ulong)_random.Next(1 << _program.Panel.Keys);
            if (screen.Standard >= 0 && _random.Next(3) > 0)
            {
                // Someone who calibrates: into the standard, patience, SET.
                long near = _codes[screen.Standard] + (_random.Next(5) == 0 ? _random.Next(-300, 300) : 0);
                _code = Engine.Calibration!.IsSteady ? _code : near;
                (ticks, milliseconds) = Engine.Panel.IsSteady ? (2, 5) : (150, 400);
                int take = screen.Keys.IndexOf(new PanelStep(PanelStepKind.Take, 0));
                _keys = Engine.Panel.IsSteady && _keys == 0 && take >= 0 ? 1UL << take : 0;
            }
            else if (screen.Trims >= 0 && _random.Next(3) > 0)
            {
                // Someone who trims: a few steps, or far too many, then SET.
                (ticks, milliseconds) = _random.Next(4) == 0 ? (200, 400) : (2, 5);
                _keys = _keys == 0 ? 1UL << screen.Keys.IndexOf(new PanelStep(_random.Next(3) switch { 0 => PanelStepKind.Up, 1 => PanelStepKind.Down, _ => PanelStepKind.Take }, 0)) : 0;
            }
            else if (_random.Next(12) == 0)
            {
                _code = _random.Next(4) == 0 ? (long)_program.Arithmetic.Code.High : _random.NextInt64((long)_program.Arithmetic.Code.Low, (long)_program.Arithmetic.Code.High + 1);
                _temperature = _random.Next(-500, 5000);
            }

            long spoilt = _random.Next(300) switch
            {
                0 => -2,
                1 or 2 => (_random.Next((int)Math.Min(_layout.End, _layout.Size)) * 256) + _random.Next(256),
                _ => -1,
            };
            if (spoilt >= 0)
            {
                _memory.Bytes[spoilt / 256] = (byte)(spoilt % 256);
            }
            else if (spoilt == -2)
            {
                Engine = NewEngine();
            }

            for (int i = 0; i < ticks; i++)
            {
                Engine.Tick(milliseconds, _keys, _code, _temperature);
            }

            return FormattableString.Invariant($"{ticks} {milliseconds} {_keys} {_code} {_temperature} {spoilt}");
        }

        public string Seen()
        {
            ulong hash = 14695981039346656037UL;
            foreach (byte b in _memory.Bytes)
            {
                hash = (hash ^ b) * 1099511628211UL;
            }

            return Convert.ToHexString(Engine.Panel.Display) + FormattableString.Invariant($" {Engine.OutputCode} {hash:X16}");
        }

        private PanelEngine NewEngine() => new(_program, new StoredSettings(_layout, _memory));
    }
}
