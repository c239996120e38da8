using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Writes a panel as C99: its tables, and what runs them. The twin of <see cref="PanelRun"/>, step for step.</summary>
internal sealed class PanelCode
{
    private const int None = 255;

    /// <summary>Sources that the instrument gives, in the order of their places in C.</summary>
    internal static ImmutableArray<(PanelSource Source, string Name, string Remark)> Given { get; } =
    [
        (PanelSource.Measurand, "MEASURAND", "steps of the display"),
        (PanelSource.Temperature, "TEMPERATURE", "0.01 degrees Celsius"),
        (PanelSource.LoopCurrent, "OUTPUT", "the output converter's code"),
        (PanelSource.Signal, "SIGNAL", "steps of the signal in the arithmetic"),
        (PanelSource.Slope, "SLOPE", "0.1 % of the theoretical one"),
        (PanelSource.Zero, "ZERO", "steps of the zero that is kept"),
        (PanelSource.SecondsSteady, "SECONDS_STEADY", "seconds"),
    ];

    private readonly PanelProgram _program;
    private readonly StringBuilder _text = new();

    private PanelCode(PanelProgram program) => _program = program;

    public static ImmutableArray<GeneratedFile> Write(PanelProgram program) =>
    [
        new GeneratedFile("panel.h", Head(program, "display and keys.") + new PanelCode(program).Header(), "what the panel takes and asks for"),
        new GeneratedFile("panel.c", Head(program, "display and keys.") + new PanelCode(program).Source(), "the panel: its tables, and what runs them"),
    ];

    internal static string Head(PanelProgram program, string what) => new CodeFile(program.Arithmetic.Law.Instrument, what).ToString();

    /// <summary>The type that holds one bit for each key.</summary>
    internal static string KeysType(PanelSection panel) => panel.Keys <= 8 ? "uint8_t" : panel.Keys <= 16 ? "uint16_t" : panel.Keys <= 32 ? "uint32_t" : "uint64_t";

    /// <summary>The name of an entry's place in C.</summary>
    internal static string EntryName(PanelSource source, OutputSignal? signal = null) => "PANEL_ENTRY_" + PanelWords.WordOf(source, signal).ToUpperInvariant().Replace(' ', '_');

    private PanelSection Panel => _program.Panel;

    private bool Trims => _program.HasTrimScreens;

    private string Far => _program.Instrument.Output.Place;

    private int Pages => _program.Screens.Length * _program.Languages.Length;

    private void Line(string line = "") => _text.Append(line).Append('\n');

    private void Line(FormattableString line) => Line(line.ToString(CultureInfo.InvariantCulture));

    private string Header()
    {
        Line(
            """
            #ifndef PANEL_H
            #define PANEL_H

            #include <stdint.h>

            """);
        Line($"#define PANEL_COLUMNS {Panel.Columns}U");
        Line($"#define PANEL_ROWS {Panel.Rows}U");
        Line($"#define PANEL_KEYS {Panel.Keys}U");
        Line($"#define PANEL_LANGUAGES {_program.Languages.Length}U");
        Line();
        Line($"/* What the {Far} does meanwhile. */");
        foreach (PanelLoop loop in Enum.GetValues<PanelLoop>().Where(l => l != PanelLoop.Trim || Trims))
        {
            Line($"#define PANEL_LOOP_{loop.ToString().ToUpperInvariant()} {(int)loop}U");
        }

        Line();
        Line("/* Failures, one bit each. */");
        foreach ((string word, PanelFailureKind kind) in PanelWords.Failures)
        {
            Line($"#define PANEL_{word.ToUpperInvariant().Replace(' ', '_')} {1 << (int)kind}U");
        }

        Line();
        Line("/* Places of the values that the panel is given. */");
        for (int i = 0; i < Given.Length; i++)
        {
            Line($"#define PANEL_{Given[i].Name} {i}U /* {Given[i].Remark} */");
        }

        Line($"#define PANEL_VALUES {Given.Length}U");
        Line();
        Line("/* A value that there is not. */");
        Line("#define PANEL_NO_VALUE INT32_MIN");
        Line();
        if (!_program.Entries.IsEmpty)
        {
            Line("/* Values that a person enters. */");
            for (int i = 0; i < _program.Entries.Length; i++)
            {
                PanelProgramEntry entry = _program.Entries[i];
                string unit = PanelWords.IsCurrent(entry.Source) ? _program.Arithmetic.Law.Instrument.Loop!.Signal.ShownUnit : CodeText.Plain(_program.Arithmetic.Law.Instrument.Specification.Unit);
                Line($"#define {EntryName(entry.Source, _program.Arithmetic.Law.Instrument.Loop?.Signal)} {i}U /* {entry.Low} to {entry.High}, steps of {entry.Unit.ToString("0.######", CultureInfo.InvariantCulture)} {unit} */");
            }

            Line();
        }

        Line(OfTrim(
            $$"""
            typedef {{KeysType(Panel)}} panel_keys;

            struct panel_inputs
            {
                uint16_t elapsed; /* milliseconds since the tick before */
                panel_keys keys; /* one bit for each key that is down, the leftmost lowest */
                uint8_t failures;
                uint8_t steady; /* 1 when the reading may be taken */
                int32_t values[PANEL_VALUES];
            };

            /* Shows the measuring screen in a language. */
            void panel_start(uint8_t language);

            /* To be called often: every few milliseconds, so that no key is missed. */
            void panel_tick(const struct panel_inputs *given);

            /* What the {{Far}} does while the present screen is shown. */
            uint8_t panel_loop(void);

            {{Trim}}/* Which value of the output's trim is given now, 0 for the lower one. */
            {{Trim}}uint8_t panel_trims(void);
            {{Trim}}
            /* A value as entered. */
            int32_t panel_entered(uint8_t entry);

            uint8_t panel_language(void);

            /* Lets the entering of a value begin with another one than the instrument file's; an end of its range does not count. */
            void panel_begin_at(uint8_t entry, int32_t value);

            /* What the panel asks of the instrument. */
            void instrument_begin_calibration(void);
            void instrument_leave_calibration(void);
            void instrument_settle(void);
            void instrument_enter(uint8_t standard, int32_t entered);
            void instrument_take(uint8_t standard);
            uint8_t instrument_judge(void);
            {{Trim}}uint8_t instrument_judge_trim(int32_t low, int32_t high);
            void instrument_restore(void);
            void instrument_speak(uint8_t language);

            #endif
            """));
        return _text.ToString();
    }

    private string Source()
    {
        Line("#include \"panel.h\"");
        Line("#include \"board.h\"");
        Line();
        Line($"#define SCREENS {_program.Screens.Length}U");
        Line($"#define PAGES {Pages}U");
        Line("#define CELLS (PANEL_ROWS * PANEL_COLUMNS)");
        Line($"#define KEYS {Math.Max(1, Panel.Keys)}U");
        Line($"#define ENTRIES {Math.Max(1, _program.Entries.Length)}U");
        Line($"#define STANDARDS {_program.Machine.Points}U");
        Line($"#define MEASURING {_program.Machine.Measuring}U");
        Line($"#define NONE {None}U");
        Line();
        Line(
            """
            #if defined(__AVR__)
            /* The flash of this processor is an address space of its own. Texts stay in it. */
            #include <avr/pgmspace.h>
            #define TEXT_PLACE PROGMEM
            #define TEXT_READ(code) ((uint8_t)pgm_read_byte(&(code)))
            #else
            #define TEXT_PLACE
            #define TEXT_READ(code) (code)
            #endif

            """);
        Line("/* A key that is held repeats: after so many milliseconds, then as often, after so many times in larger steps. */");
        Line($"#define REPEATS_AFTER {PanelRun.RepeatsAfter}U");
        Line($"#define REPEATS_EVERY {PanelRun.RepeatsEvery}U");
        Line($"#define FAST_AFTER {PanelRun.FastAfter}U");
        Line($"#define FAST_STEPS {PanelRun.FastSteps}");
        Line();
        Line("/* Wide enough for every field's digits on their way. */");
        Line($"typedef {(_program.IsWide ? "int64_t" : "int32_t")} panel_wide;");
        Line();
        Line(OfTrim(
            $$"""
            enum step_kind
            {
                STEP_NONE,
                STEP_GO,
                STEP_UP,
                STEP_DOWN,
                STEP_TAKE,
                STEP_RESTORE,
                STEP_LANGUAGE
            };

            struct step
            {
                uint8_t kind;
                uint8_t screen;
            };

            struct screen
            {
                uint32_t after; /* milliseconds until it leaves by itself */
                uint8_t after_screen;
                uint8_t taken_screen;
                uint8_t accepted_screen;
                uint8_t refused_screen;
                uint8_t standard; /* of the calibration */
                uint8_t takes; /* 1 where its reading can be taken */
                {{Trim}}uint8_t trims; /* current of the output's trim, 0 for the lower one */
                uint8_t entry;
                uint8_t loop;
                struct step steady;
                struct step keys[KEYS];
            };

            struct field
            {
                uint8_t row;
                uint8_t column;
                uint8_t width;
                uint8_t decimals;
                uint8_t scale;
            };

            /* (value * factor + added) / divisor are the digits; beyond least and most there is no room for them. */
            struct scale
            {
                uint8_t source;
                panel_wide factor;
                panel_wide added;
                panel_wide divisor;
                int32_t least;
                int32_t most;
            };

            struct entry
            {
                int32_t low;
                int32_t high;
                int32_t step;
                int32_t start;
                uint8_t standard; /* of the calibration */
            };

            struct failure
            {
                uint8_t kind;
                uint8_t screen;
            };

            """));
        Tables();
        Line(OfTrim(Interpreter));
        return _text.ToString();
    }

    private void Tables()
    {
        ImmutableArray<PanelScreen> screens = Panel.Screens;
        Line("static const struct screen screens[SCREENS] = {");
        for (int i = 0; i < screens.Length; i++)
        {
            PanelProgramScreen s = _program.Screens[i];
            string keys = string.Join(", ", (s.Keys.IsEmpty ? [default] : s.Keys).Select(StepText));
            Line($"    /* {i}: {CodeText.Comment(screens[i].Name.Value)} */");
            Line($"    {{{s.AfterMilliseconds}U, {Place(s.AfterScreen)}, {Place(s.TakenScreen)}, {Place(s.AcceptedScreen)}, {Place(s.RefusedScreen)}, {Place(s.Standard)}, {(s.Standard >= 0 && s.Standard < _program.Machine.Points ? 1 : 0)}U, {(Trims ? Place(s.Trims) + ", " : "")}{Place(s.Entry)}, {(int)s.Loop}U,");
            Line($"     {StepText(s.OnSteady)}, {{{keys}}}}},");
        }

        Line("};");
        Line();
        Line("/* Codes of the display, screen by screen, each in every language. */");
        Line("static const uint8_t texts[PAGES][CELLS] TEXT_PLACE = {");
        foreach (PanelProgramPage page in _program.Screens.SelectMany(s => s.Pages))
        {
            Line("    {");
            for (int row = 0; row < Panel.Rows; row++)
            {
                ReadOnlySpan<byte> codes = page.Text.AsSpan().Slice(row * Panel.Columns, Panel.Columns);
                Line($"        /* {CodeText.Comment(_program.Decode(codes))} */");
                Line("        " + string.Join(", ", codes.ToArray().Select(c => $"0x{c:X2}")) + ",");
            }

            Line("    },");
        }

        Line("};");
        Line();
        List<PanelProgramField> fields = [];
        List<int> first = [0];
        foreach (PanelProgramPage page in _program.Screens.SelectMany(s => s.Pages))
        {
            fields.AddRange(page.Fields);
            first.Add(fields.Count);
        }

        Line("/* row, column, width, decimals, scale */");
        Line("static const struct field fields[] = {");
        foreach (PanelProgramField f in fields.Count == 0 ? [default] : fields)
        {
            Line($"    {{{f.Row}U, {f.Column}U, {f.Width}U, {f.Decimals}U, {Place(f.Scale)}}},");
        }

        Line("};");
        Line();
        Line("/* Where the fields of each page begin. */");
        Line("static const uint16_t first_fields[PAGES + 1U] = {");
        for (int i = 0; i < first.Count; i += 16)
        {
            Line("    " + string.Join(", ", first.Skip(i).Take(16).Select(n => CodeText.Number(n) + "U")) + ",");
        }

        Line("};");
        Line();
        Line("static const struct scale scales[] = {");
        foreach (PanelScale s in _program.Scales.IsEmpty ? [new PanelScale(PanelSource.Measurand, 1, 0, 1, 0, 0)] : _program.Scales)
        {
            Line($"    {{{SourcePlace(s.Source)}U, {Wide(s.Factor)}, {Wide(s.Added)}, {Wide(s.Divisor)}, {s.Least}, {s.Most}}}, /* {PanelWords.WordOf(s.Source, _program.Arithmetic.Law.Instrument.Loop?.Signal)} */");
        }

        Line("};");
        Line();
        Line("static const struct entry entries[ENTRIES] = {");
        foreach (PanelProgramEntry e in _program.Entries.IsEmpty ? [PanelProgramEntry.Nothing(PanelSource.TestCurrent)] : _program.Entries)
        {
            Line($"    {{{e.Low}, {e.High}, {e.Step}, {e.Start}, {Place(PanelWords.StandardOf(e.Source) is { } standard && standard < _program.Machine.Points ? standard : -1)}}}, /* {PanelWords.WordOf(e.Source, _program.Arithmetic.Law.Instrument.Loop?.Signal)} */");
        }

        Line("};");
        Line();
        Line("/* Which value is entered for each standard. */");
        Line($"static const uint8_t entry_of_standard[] = {{{string.Join(", ", Enumerable.Range(0, Math.Max(1, _program.Machine.Points)).Select(i => $"{Math.Max(0, _program.EntryOf(PanelSource.FirstStandard + i))}U"))}}};");
        Line();
        Line("/* Failures and their screens, the gravest first. */");
        Line("static const struct failure failures[] = {");
        for (int i = 0; i < Panel.Failures.Length; i++)
        {
            Line($"    {{{1 << (int)Panel.Failures[i].Kind}U, {_program.Machine.FailureScreens[i]}U}}, /* {PanelWords.WordOf(Panel.Failures[i].Kind)} */");
        }

        Line("    {0U, MEASURING}");
        Line("};");
        Line();
    }

    private int SourcePlace(PanelSource source)
    {
        for (int i = 0; i < Given.Length; i++)
        {
            if (Given[i].Source == source)
            {
                return i;
            }
        }

        return source == PanelSource.SecondsLeft ? Given.Length : Given.Length + 1 + _program.EntryOf(source);
    }

    private string Wide(long number) => CodeText.Number(number) + (_program.IsWide ? "LL" : "");

    private static string Place(int index) => index < 0 ? "NONE" : CodeText.Number(index) + "U";

    private static string StepText(PanelStep step) => FormattableString.Invariant($"{{STEP_{step.Kind.ToString().ToUpperInvariant()}, {step.Screen}U}}");

    /// <summary>Lines that begin with it are written for a panel that trims the output.</summary>
    private const string Trim = "@trim ";

    /// <summary>Lines that begin with it are written for any other.</summary>
    private const string Plain = "@plain ";

    /// <summary>Lines that begin with it are written for a panel whose calibration waits for a steady reading.</summary>
    private const string Steady = "@steady ";

    private string OfTrim(string text) => string.Join('\n', text.ReplaceLineEndings("\n").Split('\n').Select(Of).OfType<string>());

    private string? Of(string line)
    {
        foreach ((string mark, bool isWritten) in new[] { (Trim, Trims), (Plain, !Trims), (Steady, _program.Machine.NeedsSteady) })
        {
            if (line.Contains(mark, StringComparison.Ordinal))
            {
                return isWritten ? line.Replace(mark, "", StringComparison.Ordinal).TrimEnd() : null;
            }
        }

        return line;
    }

    private const string Interpreter =
        $$"""
        static struct
        {
            uint8_t screen;
            uint8_t language;
            uint8_t taken; /* one bit for each standard */
            uint8_t steady;
            uint8_t ready; /* steady, or read at all where a reading need not be steady */
            uint8_t failures; /* one bit for each of the table */
            uint8_t down; /* the key that is held, from 1; NONE when several were down at once */
            uint8_t repeats;
            uint8_t repeated;
            uint8_t fresh; /* the screen's time begins with the next tick */
            uint32_t held;
            uint32_t idle;
            int32_t entered[ENTRIES];
            int32_t starts[ENTRIES];
            uint8_t shown[CELLS];
        } panel;

        /* One bit for each failure of a kind. */
        static uint8_t failures_of(uint8_t kind)
        {
            uint8_t mask = 0;
            uint8_t i;
            for (i = 0; failures[i].kind != 0; i++)
            {
                if (failures[i].kind == kind)
                {
                    mask = (uint8_t)(mask | (1U << i));
                }
            }
            return mask;
        }

        static uint8_t is_broken(void)
        {
            return (panel.failures & failures_of(PANEL_SENSOR_BROKEN)) != 0 ? 1U : 0U;
        }

        /* Failures stand in for the measuring screen. */
        static uint8_t standing(uint8_t screen)
        {
            uint8_t i;
            if (screen == MEASURING)
            {
                for (i = 0; failures[i].kind != 0; i++)
                {
                    if ((panel.failures & (1U << i)) != 0)
                    {
                        return failures[i].screen;
                    }
                }
            }
            return screen;
        }

        static void rest(void)
        {
            panel.idle = 0;
            panel.fresh = 1;
        }

        static void start_entries(void)
        {
            uint8_t i;
            for (i = 0; i < ENTRIES; i++)
            {
                panel.entered[i] = panel.starts[i];
            }
        }

        /* Coming to a step of the calibration from elsewhere begins it; going elsewhere forgets what was taken and entered. */
        static void go(uint8_t to)
        {
            const struct screen *before = &screens[panel.screen];
            const struct screen *now;
            uint8_t goes_on;
            panel.screen = standing(to);
            now = &screens[panel.screen];
            {{Plain}}goes_on = (before->standard != NONE && now->standard != NONE) ? 1U : 0U;
            {{Trim}}goes_on = ((before->standard != NONE && now->standard != NONE) || (before->trims != NONE && now->trims != NONE)) ? 1U : 0U;
            if (before->standard != NONE && !goes_on)
            {
                instrument_leave_calibration();
            }
            if (!goes_on)
            {
                panel.taken = 0;
                if (now->entry == NONE || now->entry != before->entry)
                {
                    start_entries();
                }
                if (now->standard != NONE)
                {
                    instrument_begin_calibration();
                }
            }
            if (now->standard != NONE)
            {
                instrument_settle();
            }
            panel.steady = 0;
            panel.ready = 0;
            panel.repeats = 0;
            rest();
        }

        static uint8_t may_take(void)
        {
            const struct screen *now = &screens[panel.screen];
            {{Trim}}if (now->trims != NONE)
            {{Trim}}{
            {{Trim}}    return 1;
            {{Trim}}}
            return (now->takes && panel.ready && !is_broken()) ? 1U : 0U;
        }

        {{Trim}}/* What is entered for one value of the output's trim; with both it is judged. */
        {{Trim}}static void take_current(const struct screen *now)
        {{Trim}}{
        {{Trim}}    panel.taken = (uint8_t)(panel.taken | (1U << now->trims));
        {{Trim}}    if (panel.taken != 3U)
        {{Trim}}    {
        {{Trim}}        if (now->taken_screen != NONE)
        {{Trim}}        {
        {{Trim}}            go(now->taken_screen);
        {{Trim}}        }
        {{Trim}}        return;
        {{Trim}}    }
        {{Trim}}    panel.taken = 0;
        {{Trim}}    if (instrument_judge_trim(panel.entered[PANEL_ENTRY_OUTPUT_TRIM_LOW], panel.entered[PANEL_ENTRY_OUTPUT_TRIM_HIGH]))
        {{Trim}}    {
        {{Trim}}        go(now->accepted_screen);
        {{Trim}}    }
        {{Trim}}    else
        {{Trim}}    {
        {{Trim}}        go(now->refused_screen);
        {{Trim}}    }
        {{Trim}}}
        {{Trim}}
        static void take(void)
        {
            const struct screen *now = &screens[panel.screen];
            {{Plain}}const uint8_t taken = (uint8_t)(panel.taken | (1U << now->standard));
            {{Trim}}uint8_t taken;
            {{Trim}}if (now->trims != NONE)
            {{Trim}}{
            {{Trim}}    take_current(now);
            {{Trim}}    return;
            {{Trim}}}
            {{Trim}}taken = (uint8_t)(panel.taken | (1U << now->standard));
            instrument_enter(now->standard, panel.entered[entry_of_standard[now->standard]]);
            instrument_take(now->standard);
            if (taken != (1U << STANDARDS) - 1U)
            {
                panel.taken = taken;
                if (now->taken_screen != NONE)
                {
                    go(now->taken_screen);
                }
                else
                {
                    panel.steady = 0;
                    panel.ready = 0;
                    instrument_settle();
                }
                return;
            }
            panel.taken = 0;
            if (instrument_judge())
            {
                panel.failures = (uint8_t)(panel.failures & ~failures_of(PANEL_MEMORY_CORRUPT));
                go(now->accepted_screen);
            }
            else
            {
                go(now->refused_screen);
            }
        }

        /* To a whole number of steps, within the ends. */
        static void move(uint8_t entry, int32_t steps)
        {
            const struct entry *of = &entries[entry];
            const int32_t to = panel.entered[entry] + steps * of->step;
            int32_t whole = to < 0 ? -((of->step / 2 - to) / of->step) : (to + of->step / 2) / of->step;
            whole *= of->step;
            panel.entered[entry] = whole < of->low ? of->low : whole > of->high ? of->high : whole;
            if (of->standard != NONE)
            {
                instrument_enter(of->standard, panel.entered[entry]);
            }
        }

        static uint8_t has_effect(uint8_t kind)
        {
            const uint8_t entry = screens[panel.screen].entry;
            switch (kind)
            {
                case STEP_NONE:
                    return 0;
                case STEP_UP:
                    return (entry != NONE && panel.entered[entry] < entries[entry].high) ? 1U : 0U;
                case STEP_DOWN:
                    return (entry != NONE && panel.entered[entry] > entries[entry].low) ? 1U : 0U;
                case STEP_TAKE:
                    return may_take();
                case STEP_RESTORE:
                    return failures_of(PANEL_MEMORY_CORRUPT) != 0 ? 1U : 0U;
                case STEP_LANGUAGE:
                    return PANEL_LANGUAGES > 1U ? 1U : 0U;
                default:
                    return 1;
            }
        }

        static void perform(const struct step *step, int32_t steps)
        {
            const uint8_t entry = screens[panel.screen].entry;
            switch (step->kind)
            {
                case STEP_GO:
                    go(step->screen);
                    break;
                case STEP_UP:
                    move(entry, steps);
                    break;
                case STEP_DOWN:
                    move(entry, -steps);
                    break;
                case STEP_TAKE:
                    if (may_take())
                    {
                        take();
                    }
                    break;
                case STEP_RESTORE:
                    instrument_restore();
                    panel.failures = (uint8_t)(panel.failures & ~failures_of(PANEL_MEMORY_CORRUPT));
                    go(MEASURING);
                    break;
                case STEP_LANGUAGE:
                    panel.language = (uint8_t)(panel.language + 1U < PANEL_LANGUAGES ? panel.language + 1U : 0U);
                    instrument_speak(panel.language);
                    break;
                default:
                    break;
            }
        }

        static void see_failures(uint8_t kinds)
        {
            uint8_t i;
            uint8_t k;
            for (i = 0; failures[i].kind != 0; i++)
            {
                const uint8_t bit = (uint8_t)(1U << i);
                const uint8_t comes = (kinds & failures[i].kind) != 0 ? 1U : 0U;
                uint8_t stands_in;
                if (comes == ((panel.failures & bit) != 0 ? 1U : 0U))
                {
                    continue;
                }
                panel.failures = (uint8_t)(panel.failures ^ bit);
                if (comes && failures[i].kind == PANEL_SENSOR_BROKEN)
                {
                    panel.steady = 0;
                }
                stands_in = panel.screen == MEASURING ? 1U : 0U;
                for (k = 0; failures[k].kind != 0; k++)
                {
                    if (failures[k].screen == panel.screen)
                    {
                        stands_in = 1;
                    }
                }
                if (stands_in && standing(MEASURING) != panel.screen)
                {
                    go(MEASURING);
                }
            }
        }

        static void watch(uint8_t is_steady)
        {
        @steady     const struct screen *now = &screens[panel.screen];
            const uint8_t steady = (is_steady && !is_broken()) ? 1U : 0U;
            panel.ready = steady;
        @steady     if (now->standard == NONE || steady == panel.steady)
        @steady     {
        @steady         return;
        @steady     }
        @steady     panel.steady = steady;
        @steady     if (steady)
        @steady     {
        @steady         perform(&now->steady, 1);
        @steady     }
        }

        /* Does what a key does; 0 where it has no effect. */
        static uint8_t key(uint8_t number, int32_t steps)
        {
            const struct step *step = &screens[panel.screen].keys[number];
            if (!has_effect(step->kind))
            {
                return 0;
            }
            perform(step, steps);
            return 1;
        }

        static void see_keys(panel_keys keys, uint16_t elapsed)
        {
            uint8_t number = 0;
            uint8_t i;
            if (keys == 0)
            {
                panel.down = 0;
                return;
            }
            for (i = 0; i < KEYS; i++)
            {
                if ((keys & (panel_keys)((panel_keys)1U << i)) != 0)
                {
                    number = number == 0 ? (uint8_t)(i + 1U) : NONE;
                }
            }
            if (number == 0)
            {
                number = NONE; /* a bit that no key has */
            }
            if (number == NONE || (panel.down != 0 && panel.down != number))
            {
                panel.down = NONE;
                return;
            }
            if (panel.down == 0)
            {
                panel.down = number;
                panel.held = 0;
                panel.repeated = 0;
                panel.repeats = 1;
                rest();
                (void)key((uint8_t)(number - 1U), 1);
                return;
            }
            i = screens[panel.screen].keys[number - 1U].kind;
            if (!panel.repeats || (i != STEP_UP && i != STEP_DOWN))
            {
                return;
            }
            panel.held += elapsed;
            while (panel.repeats && panel.held >= REPEATS_AFTER)
            {
                panel.held -= REPEATS_EVERY;
                if (key((uint8_t)(number - 1U), panel.repeated < FAST_AFTER ? 1 : FAST_STEPS))
                {
                    rest(); /* a key that is stuck does not keep the screen for ever: a value at its end moves no more */
                }
                if (panel.repeated < FAST_AFTER)
                {
                    panel.repeated++;
                }
            }
        }

        static void see_time(uint16_t elapsed)
        {
            const struct screen *now = &screens[panel.screen];
            if (!panel.fresh && now->after_screen != NONE)
            {
                panel.idle += elapsed;
            }
            panel.fresh = 0;
            if (now->after_screen != NONE && panel.idle >= now->after)
            {
                go(now->after_screen);
            }
        }

        static int32_t value_of(uint8_t source, const struct panel_inputs *given)
        {
            const struct screen *now = &screens[panel.screen];
            if (source < PANEL_VALUES)
            {
                return given->values[source];
            }
            if (source == PANEL_VALUES)
            {
                return now->after_screen == NONE ? PANEL_NO_VALUE : (int32_t)((now->after - panel.idle + 999U) / 1000U);
            }
            return panel.entered[source - PANEL_VALUES - 1U];
        }

        /* Digits from the right, the point between them, a minus before them; dashes where there is no value or no room. */
        static void write_field(uint8_t *place, const struct field *field, int32_t value)
        {
            uint8_t point = field->width;
            uint8_t column = field->width;
            uint8_t is_negative = 0;
            uint32_t rest_of = 0;
            uint8_t is_shown = 0;
            if (field->decimals > 0)
            {
                point = (uint8_t)(field->width - field->decimals - 1);
            }
            if (field->scale != NONE && value != PANEL_NO_VALUE)
            {
                const struct scale *scale = &scales[field->scale];
                const panel_wide number = value * scale->factor + scale->added;
                panel_wide digits = ((number < 0 ? -number : number) + scale->divisor / 2) / scale->divisor;
                is_negative = (number < 0 && digits != 0) ? 1U : 0U;
                if (is_negative)
                {
                    digits = -digits;
                }
                if (digits >= scale->least && digits <= scale->most)
                {
                    is_shown = 1;
                    rest_of = (uint32_t)(is_negative ? -digits : digits);
                }
            }
            while (column > 0)
            {
                column--;
                if (column == point)
                {
                    place[column] = 0x2E;
                }
                else if (!is_shown)
                {
                    place[column] = 0x2D;
                }
                else if (rest_of > 0 || column + 1U >= point)
                {
                    place[column] = (uint8_t)(0x30U + rest_of % 10U);
                    rest_of /= 10U;
                }
                else
                {
                    place[column] = is_negative ? 0x2D : 0x20;
                    is_negative = 0;
                }
            }
        }

        /* Gives the board those characters that are others than before. */
        static void draw(const struct panel_inputs *given)
        {
            const uint16_t page = (uint16_t)(panel.screen * PANEL_LANGUAGES + panel.language);
            uint8_t row[PANEL_COLUMNS];
            uint8_t r;
            uint8_t c;
            uint16_t f;
            for (r = 0; r < PANEL_ROWS; r++)
            {
                for (c = 0; c < PANEL_COLUMNS; c++)
                {
                    row[c] = TEXT_READ(texts[page][r * PANEL_COLUMNS + c]);
                }
                for (f = first_fields[page]; f < first_fields[page + 1U]; f++)
                {
                    const struct field *field = &fields[f];
                    if (field->row == r)
                    {
                        write_field(&row[field->column], field, field->scale == NONE ? PANEL_NO_VALUE : value_of(scales[field->scale].source, given));
                    }
                }
                for (c = 0; c < PANEL_COLUMNS; c++)
                {
                    uint8_t *shown = &panel.shown[r * PANEL_COLUMNS + c];
                    if (*shown != row[c])
                    {
                        *shown = row[c];
                        board_put_text(r, c, row[c]);
                    }
                }
            }
        }

        void panel_start(uint8_t language)
        {
            uint16_t i;
            panel.screen = MEASURING;
            panel.language = language < PANEL_LANGUAGES ? language : 0U;
            panel.taken = 0;
            panel.steady = 0;
            panel.ready = 0;
            panel.failures = 0;
            panel.down = 0;
            panel.repeats = 0;
            panel.repeated = 0;
            panel.held = 0;
            for (i = 0; i < ENTRIES; i++)
            {
                panel.starts[i] = entries[i].start;
            }
            start_entries();
            rest();
            for (i = 0; i < CELLS; i++)
            {
                panel.shown[i] = 0;
            }
        }

        void panel_tick(const struct panel_inputs *given)
        {
            const uint8_t before = panel.screen;
            see_failures(given->failures);
            watch((given->steady && panel.screen == before) ? 1U : 0U);
            see_keys(given->keys, given->elapsed);
            see_time(given->elapsed);
            draw(given);
        }

        uint8_t panel_loop(void)
        {
            return screens[panel.screen].loop;
        }

        {{Trim}}uint8_t panel_trims(void)
        {{Trim}}{
        {{Trim}}    return screens[panel.screen].trims;
        {{Trim}}}
        {{Trim}}
        uint8_t panel_language(void)
        {
            return panel.language;
        }

        void panel_begin_at(uint8_t entry, int32_t value)
        {
            const struct entry *of = &entries[entry];
            const uint8_t is_between = (value > of->low && value < of->high && of->start > of->low && of->start < of->high) ? 1U : 0U;
            panel.starts[entry] = is_between ? value : of->start;
            if (screens[panel.screen].standard == NONE)
            {
                panel.entered[entry] = panel.starts[entry];
            }
        }

        int32_t panel_entered(uint8_t entry)
        {
            return panel.entered[entry];
        }
        """;
}
