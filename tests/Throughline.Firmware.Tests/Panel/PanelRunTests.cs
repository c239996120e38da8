using System.Globalization;
using System.Text;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Panel;

/// <summary>The panel that is played against the machine that is proved, and against its own C.</summary>
public sealed class PanelRunTests
{
    private const int Events = 100_000;

    public static TheoryData<string> Demos => [.. Sketches.Demos];

    [Theory]
    [MemberData(nameof(Demos))]
    public void Tick_OverAHundredThousandRandomEvents_IsAWayThroughTheCheckedMachine(string demo)
    {
        PanelProgram program = PanelProgram.Of(Sketches.Demo(demo))!;
        PanelMachine machine = program.Machine;
        PanelSpace space = new(machine);
        Scene scene = new(program, seed: 1);
        PanelState state = machine.Start;
        Assert.Equal(state, scene.Run.State);
        HashSet<PanelState> met = [state];
        HashSet<int> shown = [];
        for (int i = 0; i < Events; i++)
        {
            scene.Next();
            foreach (PanelEvent happened in scene.Run.Events)
            {
                Assert.Contains(happened, machine.EventsOf(state));
                state = machine.Next(state, happened);
                Assert.True(space.Contains(state));
                met.Add(state);
            }

            Assert.Equal(state, scene.Run.State);
            shown.Add(state.Screen);
        }

        // A test that stood on one screen would prove little.
        Assert.Equal(space.Screens, shown.Order());
        Assert.InRange(met.Count, space.States.Count / 4, space.States.Count);
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void Code_OverAHundredThousandRandomEvents_IsThePanel(string demo)
    {
        PanelProgram program = PanelProgram.Of(Sketches.Demo(demo))!;
        Scene scene = new(program, seed: 2);
        StringBuilder given = new();
        StringBuilder wanted = new();
        for (int i = 0; i < Events; i++)
        {
            scene.Next();
            given.Append(scene.GivenLine).Append('\n');
            wanted.Append(scene.Seen()).Append('\n');
        }

        using HostProgram host = new([.. PanelCode.Write(program), new("board.h", BoardHeader, ""), new("test.c", TestProgram(program), "")]);
        string[] found = host.Run(given.ToString()).Split('\n');
        string[] expected = wanted.ToString().Split('\n');
        Assert.Equal(expected.Length, found.Length);
        for (int i = 0; i < expected.Length; i++)
        {
            Assert.True(expected[i] == found[i], $"event {i}\nmodel {expected[i]}\nC     {found[i]}");
        }
    }

    private const string BoardHeader = "#include <stdint.h>\nvoid board_put_text(uint8_t row, uint8_t column, uint8_t code);\n";

    private static string TestProgram(PanelProgram program) =>
        """
        #include <inttypes.h>
        #include <stdio.h>
        #include "panel.h"
        #include "board.h"

        static unsigned char display[PANEL_ROWS][PANEL_COLUMNS];
        static unsigned good;

        void board_put_text(uint8_t row, uint8_t column, uint8_t code) { display[row][column] = code; }
        void instrument_begin_calibration(void) { printf("B"); }
        void instrument_leave_calibration(void) { printf("L"); }
        void instrument_settle(void) { printf("S"); }
        void instrument_enter(uint8_t standard, int32_t entered) { printf("E%u=%" PRId32, (unsigned)standard, entered); }
        void instrument_take(uint8_t standard) { printf("T%u", (unsigned)standard); }
        uint8_t instrument_judge(void) { printf("J"); return (uint8_t)good; }
        uint8_t instrument_judge_trim(int32_t low, int32_t high);
        uint8_t instrument_judge_trim(int32_t low, int32_t high) { printf("K%" PRId32 ",%" PRId32, low, high); return (uint8_t)good; }
        void instrument_restore(void) { printf("R"); }
        void instrument_speak(uint8_t language) { printf("N%u", (unsigned)language); }

        int main(void)
        {
            struct panel_inputs given;
            unsigned elapsed, failures, steady, r, c;
            unsigned long keys;
            panel_start(0);
            while (scanf("%u %lu %u %u %u", &elapsed, &keys, &failures, &steady, &good) == 5)
            {
                for (r = 0; r < PANEL_VALUES; r++)
                {
                    if (scanf("%" SCNd32, &given.values[r]) != 1) { return 1; }
                }
                given.elapsed = (uint16_t)elapsed;
                given.keys = (panel_keys)keys;
                given.failures = (uint8_t)failures;
                given.steady = (uint8_t)steady;
                panel_tick(&given);
                printf(" %u", (unsigned)panel_loop());
                for (r = 0; r < ENTRIES; r++) { printf(" %" PRId32, panel_entered((uint8_t)r)); }
                printf(" ");
                for (r = 0; r < PANEL_ROWS; r++)
                {
                    for (c = 0; c < PANEL_COLUMNS; c++) { printf("%02X", display[r][c]); }
                }
                printf("\n");
            }
            return 0;
        }
        """.Replace("ENTRIES", program.Entries.Length.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal);

    /// <summary>Random keys, failures and readings, with the instrument about the panel played by dice.</summary>
    private sealed class Scene : IPanelHost
    {
        private readonly PanelProgram _program;
        private readonly Random _random;
        private readonly StringBuilder _asked = new();
        private readonly long[] _values = new long[Enum.GetValues<PanelSource>().Length];
        private ulong _keys;
        private int _failures;
        private bool _isSteady;
        private bool _isGood = true;

        public Scene(PanelProgram program, int seed)
        {
            _program = program;
            _random = new Random(seed);
            Run = new PanelRun(program, this);
        }

        public PanelRun Run { get; }

        public string GivenLine { get; private set; } = "";

        public void Next()
        {
            _asked.Clear();
            int milliseconds = _random.Next(10) switch { 0 => _random.Next(60_000), 1 or 2 => _random.Next(1000), _ => 5 };
            int dice = _random.Next(100);
            _keys = dice < 45 ? 0 : dice < 88 ? 1UL << _random.Next(_program.Panel.Keys) : dice < 97 ? _keys : (ulong)_random.Next(1 << _program.Panel.Keys);
            if (_random.Next(40) == 0)
            {
                // Memory does not mend itself.
                _failures ^= 1 << (_random.Next(5) switch { 0 or 1 => (int)PanelFailureKind.SensorBroken, 2 or 3 => (int)PanelFailureKind.OutOfRange, _ => (int)PanelFailureKind.MemoryCorrupt });
                _failures |= _failuresBefore & (1 << (int)PanelFailureKind.MemoryCorrupt);
            }

            _isSteady = _random.Next(6) == 0 ? !_isSteady : _isSteady;
            _isGood = _random.Next(3) == 0 ? !_isGood : _isGood;
            foreach (PanelSource source in Enum.GetValues<PanelSource>())
            {
                if (_random.Next(8) == 0 && _program.RangeOf(source) is var (low, high))
                {
                    _values[(int)source] = _random.Next(8) == 0 ? PanelInputs.None : _random.NextInt64(low, high + 1);
                }
            }

            _failuresBefore = _failures;
            GivenLine = string.Join(' ', new long[] { milliseconds, (long)_keys, _failures, _isSteady ? 1 : 0, _isGood ? 1 : 0 }.Concat(PanelCode.Given.Select(g => _values[(int)g.Source]))
                .Select(n => n.ToString(CultureInfo.InvariantCulture)));
            Run.Tick(new PanelInputs(milliseconds, _keys, _failures, _isSteady, _values));
        }

        private int _failuresBefore;

        public string Seen() =>
            $"{_asked} {(int)Run.Loop}" + string.Concat(_program.Entries.Select((_, i) => FormattableString.Invariant($" {Run.Entered(i)}"))) + " " + Convert.ToHexString(Run.Display);

        void IPanelHost.Begin() => _asked.Append('B');

        void IPanelHost.Abandon() => _asked.Append('L');

        void IPanelHost.Settle()
        {
            _asked.Append('S');
            _isSteady = false;
        }

        void IPanelHost.Enter(int standard, long entered) => _asked.Append(CultureInfo.InvariantCulture, $"E{standard}={entered}");

        void IPanelHost.Take(int standard) => _asked.Append(CultureInfo.InvariantCulture, $"T{standard}");

        bool IPanelHost.Judge()
        {
            _asked.Append('J');
            Mend(_isGood);
            return _isGood;
        }

        bool IPanelHost.JudgeTrim(long low, long high)
        {
            _asked.Append(CultureInfo.InvariantCulture, $"K{low},{high}");
            return _isGood;
        }

        void IPanelHost.Restore()
        {
            _asked.Append('R');
            Mend(true);
        }

        void IPanelHost.Speak(int language) => _asked.Append(CultureInfo.InvariantCulture, $"N{language}");

        private void Mend(bool isMended)
        {
            _failures &= isMended ? ~(1 << (int)PanelFailureKind.MemoryCorrupt) : ~0;
            _failuresBefore = _failures;
        }
    }
}
