using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// Writes what puts arithmetic, calibration, settings and panel together as C99: two functions, one to be called when the power comes on and one for every reading of the converter. The twin of
/// <see cref="PanelEngine"/>, step for step.
/// </summary>
internal sealed class InstrumentCode
{
    private readonly PanelProgram _program;
    private readonly ArithmeticDesign _design;
    private readonly CalibrationDesign? _calibration;
    private readonly OutputTrimDesign? _trim;
    private readonly SettingsLayout? _settings;
    private readonly StringBuilder _text = new();

    private InstrumentCode(PanelProgram program)
    {
        _program = program;
        _design = program.Arithmetic;
        _calibration = program.Calibration;
        _trim = HasOutput ? program.OutputTrim : null;
        _settings = SettingsLayout.Of(program.Arithmetic.Law.Instrument) is { Trouble: null } layout ? layout : null;
    }

    /// <summary>The files; they call those of the arithmetic, the panel and, where the instrument has them, calibration and settings.</summary>
    public static ImmutableArray<GeneratedFile> Write(PanelProgram program) =>
    [
        new GeneratedFile("instrument.h", PanelCode.Head(program, "the whole instrument.") + Header, "what a program calls"),
        new GeneratedFile("instrument.c", PanelCode.Head(program, "the whole instrument.") + new InstrumentCode(program).Source(), "readings, failures, output, and what the panel asks for"),
        InstrumentTestCode.Write(program),
    ];

    /// <summary>What the board supplies for panel and time, for its header.</summary>
    public static string BoardFunctions(PanelSection panel) =>
        $$"""
        /* Milliseconds of a clock that runs round at 65536. */
        uint16_t board_milliseconds(void);

        /* One bit for each key that is down, the leftmost lowest, bounces taken off. */
        {{PanelCode.KeysType(panel)}} board_read_keys(void);

        /* Puts one character of the display's own set, row and column from 0. */
        void board_put_text(uint8_t row, uint8_t column, uint8_t code);

        """;

    private const string Header =
        """
        #ifndef INSTRUMENT_H
        #define INSTRUMENT_H

        /* Once, when the power comes on and the board is ready. */
        void instrument_start(void);

        /* Then again and again: takes one reading of the converter and does everything that follows from it. No more than 65 s may pass between two. */
        void instrument_tick(void);

        #endif

        """;

    private bool IsSummed => _design.Sum != _design.Code;

    /// <summary>The word of what is asked of the output: a code, or steps of one where a trim comes after it.</summary>
    private Word StepsWord => _trim?.Steps.Word ?? _design.OutputCode!.Word;

    private bool HasOutput => _design.OutputCode is not null && _program.Output is not null;

    private void Line(string line = "") => _text.Append(line).Append('\n');

    private void Line(FormattableString line) => Line(line.ToString(CultureInfo.InvariantCulture));

    private void Block(string text) => _text.Append(text).Append('\n');

    private string Source()
    {
        Line("#include \"instrument.h\"");
        Line("#include \"arithmetic.h\"");
        Line("#include \"board.h\"");
        if (_calibration is not null)
        {
            Line("#include \"calibration.h\"");
        }

        if (_trim is not null)
        {
            Line("#include \"output_trim.h\"");
        }

        Line("#include \"panel.h\"");
        if (_settings is not null)
        {
            Line("#include \"settings.h\"");
        }

        Line();
        if (_settings is not null)
        {
            Line("/* How often the settings are looked at, milliseconds. */");
            Line($"#define LOOKS_EVERY {PanelEngine.LooksEvery}U");
            Line();
        }

        State();
        if (_calibration is not null)
        {
            Kept();
        }

        Evaluate();
        if (_trim is not null)
        {
            Trimmed();
        }

        if (HasOutput)
        {
            Output();
        }

        Asked();
        Start();
        Tick();
        return _text.ToString();
    }

    private void State()
    {
        Line("static struct");
        Line("{");
        Line("    uint16_t before; /* the clock at the last tick */");
        if (IsSummed)
        {
            Line($"    {_design.Sum.Word.CType} sum;");
            Line($"    {(_design.Sum.Constant <= 255 ? "uint8_t" : _design.Sum.Constant <= 65535 ? "uint16_t" : "uint32_t")} count;");
        }

        if (_calibration is not null)
        {
            Line("    uint32_t since_reading; /* milliseconds */");
        }

        if (_settings is not null)
        {
            Line("    uint32_t since_look;");
            Line("    uint8_t is_corrupt;");
        }

        Line("    uint8_t is_broken;");
        Line("    uint8_t is_outside;");
        if (HasOutput)
        {
            string code = StepsWord.CType;
            Line("    uint8_t has_reading;");
            Line($"    {code} computed; /* output codes: of the last reading, */");
            Line($"    {code} followed; /* of the last one that the {_program.Arithmetic.Law.Instrument.Output.Place} followed, */");
            if (_trim is null)
            {
                Line($"    {code} given; /* and what the converter was given */");
            }
            else
            {
                Line($"    {code} asked; /* and what is asked for now; all in steps of the trim */");
                Line($"    {_trim.Given.Word.CType} given; /* what the converter was given */");
                Line("    struct output_trim trim;");
            }
        }

        if (_calibration is not null)
        {
            Line("    struct calibration calibration;");
        }

        if (_settings is not null)
        {
            Line("    struct settings kept;");
        }

        Line("    struct panel_inputs panel;");
        Line("} instrument;");
        Line();
    }

    /// <summary>Settings into the calibration and back, entered values into the steps of the measurand.</summary>
    private void Kept()
    {
        Line("/* What readings are made with, from the settings. */");
        Line("static void work_with_settings(void)");
        Line("{");
        Line("    struct arithmetic_calibration working;");
        Line($"    working.zero = {FromSettings(MemoryKeeps.Zero, _design.Zero!)};");
        if (_design.Gain is { } gain)
        {
            Line($"    working.gain = {FromSettings(MemoryKeeps.Gain, gain)};");
        }

        Line("    calibration_load(&instrument.calibration, &working, instrument.calibration.entered);");
        for (int i = 0; i < _calibration!.Points; i++)
        {
            if (ItemOf(MemoryKeeps.FirstStandard + i) is { } item)
            {
                Line($"    panel_begin_at({EntryName(i)}, (int32_t)instrument.kept.{item.CodeName} * {_program.Entries[Entry(i)].Step});");
            }
        }

        Line("}");
        Line();
        (int bits, string wide) = StandardsWide();
        Line("/* Values of standards as entered, in steps of the measurand. */");
        Line($"static {wide} in_steps(uint8_t standard, int32_t entered)");
        Line("{");
        string suffix = bits > 32 ? "LL" : "";
        (long Factor, long Divisor)[] scales = [.. Enumerable.Range(0, _calibration.Points).Select(_program.StandardScale)];
        Line($"    static const {wide} factors[CALIBRATION_STANDARDS] = {{{string.Join(", ", scales.Select(s => CodeText.Number(s.Factor) + suffix))}}};");
        Line($"    static const {wide} divisors[CALIBRATION_STANDARDS] = {{{string.Join(", ", scales.Select(s => CodeText.Number(s.Divisor) + suffix))}}};");
        Line($"    const {wide} product = entered * factors[standard];");
        Line($"    const {wide} size = ((product < 0 ? -product : product) + divisors[standard] / 2) / divisors[standard];");
        Line("    return product < 0 ? -size : size;");
        Line("}");
        Line();
    }

    private (int Bits, string Wide) StandardsWide()
    {
        bool fits = Enumerable.Range(0, _calibration!.Points).All(i =>
        {
            PanelProgramEntry entry = _program.Entries[Entry(i)];
            (long factor, long divisor) = _program.StandardScale(i);
            return Int128.Max(Int128.Abs(entry.Low), Int128.Abs(entry.High)) * Math.Abs(factor) + (divisor / 2) <= int.MaxValue;
        });
        return fits ? (32, "int32_t") : (64, "int64_t");
    }

    private int Entry(int standard) => _program.EntryOf(PanelSource.FirstStandard + standard);

    private static string EntryName(int standard) => PanelCode.EntryName(PanelSource.FirstStandard + standard);

    private SettingsItem? ItemOf(MemoryKeeps keeps) => _settings?.Items.FirstOrDefault(i => i.Source.Keeps == keeps);

    private string FromSettings(MemoryKeeps keeps, Node node) =>
        ItemOf(keeps) is { } item ? (item.Word == node.Word ? "" : $"({node.Word.CType})") + "instrument.kept." + item.CodeName : "0";

    private void Evaluate()
    {
        Node measurand = _design.Measurand;
        Node shown = _design.Shown ?? measurand;
        string shownField = _design.Shown is null ? "measurand" : "shown";
        (long plausibleLow, long plausibleHigh) = PanelEngine.Plausible(_design);
        (long rangeLow, long rangeHigh) = PanelEngine.Range(_design);
        Line($"/* Everything that follows from {(IsSummed ? "a sum of readings" : "a reading")}. */");
        Line($"static void evaluate({_design.Sum.Word.CType} {_design.Sum.Name})");
        Line("{");
        Line("    struct arithmetic_result result;");
        List<string> arguments = [_design.Sum.Name];
        if (_design.Temperature is { } t)
        {
            Line($"    {t.Word.CType} temperature = board_read_temperature();");
            arguments.Add("temperature");
        }

        if (_design.Zero is not null || _design.Gain is not null)
        {
            arguments.Add("&instrument.calibration.working");
        }

        arguments.Add("&result");
        if (_design.Temperature is { } node)
        {
            Hold("temperature", node);
        }

        Line($"    arithmetic_evaluate({string.Join(", ", arguments)});");
        string broken = Any(
            $"{_design.Sum.Name} {(_design.Sum.Low == 0 && !_design.Sum.Word.IsSigned ? "==" : "<=")} {Literal(_design.Sum.Low, _design.Sum)}",
            $"{_design.Sum.Name} >= {Literal(_design.Sum.High, _design.Sum)}",
            plausibleLow > measurand.Low ? $"result.measurand < {Literal(plausibleLow, measurand)}" : "",
            plausibleHigh < measurand.High ? $"result.measurand > {Literal(plausibleHigh, measurand)}" : "");
        Line($"    instrument.is_broken = ({broken}) ? 1U : 0U;");
        string outside = Any(
            rangeLow > shown.Low ? $"result.{shownField} < {Literal(rangeLow, shown)}" : "",
            rangeHigh < shown.High ? $"result.{shownField} > {Literal(rangeHigh, shown)}" : "");
        Line(outside.Length == 0 ? "    instrument.is_outside = 0U;" : $"    instrument.is_outside = (!instrument.is_broken && ({outside})) ? 1U : 0U;");
        Line($"    instrument.panel.values[PANEL_MEASURAND] = (int32_t)result.{shownField};");
        Line($"    instrument.panel.values[PANEL_TEMPERATURE] = {(_design.Temperature is null ? CodeText.Number(_program.AssumedTemperature) : "(int32_t)temperature")};");
        Line($"    instrument.panel.values[PANEL_SIGNAL] = (int32_t){(_design.Signal is null ? _design.Sum.Name : "result.signal")};");
        if (HasOutput)
        {
            Line("    instrument.computed = result.output_code;");
            Line("    instrument.has_reading = 1;");
        }

        if (_calibration is not null)
        {
            string temperature = _calibration.Temperatures.IsEmpty ? "" : $"({_calibration.Temperatures[0].Word.CType})temperature, ";
            Line("    if (instrument.is_broken)");
            Line("    {");
            Line("        calibration_settle(&instrument.calibration);");
            Line("    }");
            Line("    else");
            Line("    {");
            Line($"        calibration_offer(&instrument.calibration, result.uncalibrated, {temperature}instrument.since_reading > 65535U ? 65535U : (uint16_t)instrument.since_reading);");
            Line("    }");
            Line("    instrument.since_reading = 0;");
        }

        Line("}");
        Line();
    }

    private void Hold(string name, Node node)
    {
        if (node.Low > node.Word.Least)
        {
            Line($"    if ({name} < {Literal(node.Low, node)})");
            Line("    {");
            Line($"        {name} = {Literal(node.Low, node)};");
            Line("    }");
        }

        if (node.High < node.Word.Greatest)
        {
            Line($"    if ({name} > {Literal(node.High, node)})");
            Line("    {");
            Line($"        {name} = {Literal(node.High, node)};");
            Line("    }");
        }
    }

    private static string Any(params string[] parts) => string.Join(" || ", parts.Where(p => p.Length > 0).Select(p => $"({p})"));

    private static string Literal(Int128 value, Node node) => CodeText.Literal(value, node.Word);

    private void Output()
    {
        PanelOutputLine line = _program.Output!;
        OutputSignal signal = _program.Arithmetic.Law.Instrument.Loop!.Signal;
        string code = StepsWord.CType;
        int entry = _program.EntryOf(PanelSource.TestCurrent);
        if (entry >= 0)
        {
            PanelProgramEntry test = _program.Entries[entry];
            bool fits = Int128.Max(Int128.Abs(test.Low), Int128.Abs(test.High)) * Math.Abs(line.Factor) + Math.Abs(line.Added) + line.Divisor <= int.MaxValue;
            string wide = fits ? "int32_t" : "int64_t";
            string suffix = fits ? "" : "LL";
            Line($"/* The {(_trim is null ? "code" : "steps")} of a {signal.TestWord} as entered. */");
            Line($"static {code} code_of_{signal.Noun}(int32_t entered)");
            Line("{");
            Line($"    const {wide} number = entered * {(fits ? "" : "(int64_t)")}{CodeText.Number(line.Factor)}{suffix} + {CodeText.Number(line.Added)}{suffix};");
            Line($"    const {wide} whole = (number + {CodeText.Number(line.Divisor / 2)}{suffix}) / {CodeText.Number(line.Divisor)}{suffix};");
            Line($"    return number <= 0 ? 0 : whole > {CodeText.Number(line.GreatestStep)}{suffix} ? {CodeText.Literal(line.GreatestStep, StepsWord)} : ({code})whole;");
            Line("}");
            Line();
        }

        Line($"/* What the {signal.Place} does while the present screen is shown{(_trim is null ? "" : ", in steps of the trim")}. */");
        Line($"static {code} output_code(void)");
        Line("{");
        if (entry >= 0)
        {
            Line("    if (panel_loop() == PANEL_LOOP_TEST)");
            Line("    {");
            Line($"        return code_of_{signal.Noun}(panel_entered({PanelCode.EntryName(PanelSource.TestCurrent, signal)}));");
            Line("    }");
        }

        Line("    if (panel_loop() == PANEL_LOOP_FOLLOWS && instrument.has_reading)");
        Line("    {");
        Line(PanelEngine.FailureSteps(_program) is { } failure
            ? $"        instrument.followed = ({Any("instrument.is_broken", _settings is null ? "" : "instrument.is_corrupt")}) ? ({code}){CodeText.Literal(failure, StepsWord)} : instrument.computed;"
            : "        instrument.followed = instrument.computed;");
        Line("    }");
        Line("    return instrument.followed;");
        Line("}");
        Line();
    }

    /// <summary>The trim from the settings, and what it makes of what is asked for.</summary>
    private void Trimmed()
    {
        Line("/* What the output is trimmed with, from the settings. */");
        Line("static void trim_with_settings(void)");
        Line("{");
        Line($"    instrument.trim.offset = {FromSettings(MemoryKeeps.OutputTrimOffset, _trim!.Offset)};");
        Line($"    instrument.trim.gain = {FromSettings(MemoryKeeps.OutputTrimGain, _trim.Gain)};");
        Line("}");
        Line();
    }

    private string JudgedTrim(PanelSource source)
    {
        long step = _program.Entries[_program.EntryOf(source)].Step;
        string name = source == PanelSource.OutputTrimLow ? "low" : "high";
        return step == 1 ? name : FormattableString.Invariant($"({name} + {step / 2}) / {step}");
    }

    /// <summary>Settings that were lost stay lost until someone calibrates or restores them: a trim does not make them good.</summary>
    private void JudgeTrim()
    {
        List<string> lines =
        [
            $"if (!output_trim_fit(&instrument.trim, {JudgedTrim(PanelSource.OutputTrimLow)}, {JudgedTrim(PanelSource.OutputTrimHigh)}))", "{", "    return 0;", "}",
        ];
        bool isKept = false;
        foreach ((MemoryKeeps keeps, string field, Node node) in new[] { (MemoryKeeps.OutputTrimOffset, "offset", _trim!.Offset), (MemoryKeeps.OutputTrimGain, "gain", _trim.Gain) })
        {
            if (ItemOf(keeps) is { } item)
            {
                isKept = true;
                lines.Add($"instrument.kept.{item.CodeName} = {(item.Word == node.Word ? "" : $"({item.Word.CType})")}instrument.trim.{field};");
            }
        }

        if (isKept)
        {
            lines.AddRange(["if (!instrument.is_corrupt)", "{", "    settings_save(&instrument.kept);", "}"]);
        }

        Function("uint8_t instrument_judge_trim(int32_t low, int32_t high)", [.. lines, "return 1;"]);
    }

    /// <summary>What the panel asks for.</summary>
    private void Asked()
    {
        string enteredType = _calibration is null ? "" : Word.For(_calibration.Entered.Min(n => n.Low), _calibration.Entered.Max(n => n.High), 64).CType;
        bool has = _calibration is not null;
        Function("void instrument_begin_calibration(void)", has ? ["calibration_begin(&instrument.calibration);"] : []);
        Function("void instrument_leave_calibration(void)", has ? ["calibration_abandon(&instrument.calibration);"] : []);
        Function("void instrument_settle(void)", has ? ["calibration_settle(&instrument.calibration);"] : []);
        Function(
            "void instrument_enter(uint8_t standard, int32_t entered)",
            has ? [$"calibration_enter(&instrument.calibration, standard, ({enteredType})in_steps(standard, entered));"] : ["(void)standard;", "(void)entered;"]);
        Function("void instrument_take(uint8_t standard)", has ? ["(void)calibration_take(&instrument.calibration, standard);"] : ["(void)standard;"]);
        Judge();
        List<string> restore = [];
        if (_settings is not null)
        {
            restore.Add("settings_restore(&instrument.kept);");
            if (ItemOf(MemoryKeeps.Language) is { } language)
            {
                restore.Add($"instrument.kept.{language.CodeName} = ({language.Word.CType})panel_language();");
            }

            restore.Add("settings_save(&instrument.kept);");
            restore.Add("instrument.is_corrupt = 0;");
        }

        if (_calibration is not null)
        {
            restore.Add("work_with_settings();");
        }

        if (_trim is not null)
        {
            restore.Add("trim_with_settings();");
        }

        if (_trim is not null && _program.HasTrimScreens)
        {
            JudgeTrim();
        }

        Function("void instrument_restore(void)", [.. restore]);
        Function(
            "void instrument_speak(uint8_t language)",
            ItemOf(MemoryKeeps.Language) is { } item
                ?
                [
                    $"instrument.kept.{item.CodeName} = {(item.Word == new Word(8, false) ? "" : $"({item.Word.CType})")}language;", "if (!instrument.is_corrupt)", "{",
                    "    settings_save(&instrument.kept);", "}",
                ]
                : ["(void)language;"]);
    }

    private void Judge()
    {
        if (_calibration is null)
        {
            Function("uint8_t instrument_judge(void)", ["return 0;"]);
            return;
        }

        Line("uint8_t instrument_judge(void)");
        Line("{");
        Line("    struct calibration_result result;");
        Line("    const uint8_t is_good = calibration_judge(&instrument.calibration, &result);");
        Line("    const uint8_t has_line = (result.refused & (CALIBRATION_TOO_NEAR | CALIBRATION_INCOMPLETE)) == 0 ? 1U : 0U;");
        Line("    instrument.panel.values[PANEL_SLOPE] = has_line ? (int32_t)result.slope : PANEL_NO_VALUE;");
        Line("    instrument.panel.values[PANEL_ZERO] = has_line ? (int32_t)result.zero : PANEL_NO_VALUE;");
        if (_settings is not null)
        {
            Line("    if (is_good)");
            Line("    {");
            foreach ((MemoryKeeps keeps, string field) in new[] { (MemoryKeeps.Zero, "zero"), (MemoryKeeps.Gain, "gain") })
            {
                Node? node = keeps == MemoryKeeps.Zero ? _design.Zero : _design.Gain;
                if (ItemOf(keeps) is { } item && node is not null)
                {
                    Line($"        instrument.kept.{item.CodeName} = {(item.Word == node.Word ? "" : $"({item.Word.CType})")}instrument.calibration.working.{field};");
                }
            }

            for (int i = 0; i < _calibration.Points; i++)
            {
                if (ItemOf(MemoryKeeps.FirstStandard + i) is { } item)
                {
                    long step = _program.Entries[Entry(i)].Step;
                    Line($"        instrument.kept.{item.CodeName} = ({item.Word.CType})(panel_entered({EntryName(i)}) / {step});");
                    Line($"        panel_begin_at({EntryName(i)}, (int32_t)instrument.kept.{item.CodeName} * {step});");
                }
            }

            Line("        settings_save(&instrument.kept);");
            Line("        instrument.is_corrupt = 0;");
            Line("    }");
        }

        Line("    return is_good;");
        Line("}");
        Line();
    }

    private void Function(string head, string[] lines)
    {
        Line(head);
        Line("{");
        foreach (string line in lines)
        {
            Line("    " + line);
        }

        Line("}");
        Line();
    }

    private void Start()
    {
        Line("void instrument_start(void)");
        Line("{");
        Line("    uint8_t i;");
        Line("    instrument.before = board_milliseconds();");
        if (IsSummed)
        {
            Line("    instrument.sum = 0;");
            Line("    instrument.count = 0;");
        }

        Line("    instrument.is_broken = 0;");
        Line("    instrument.is_outside = 0;");
        Line("    for (i = 0; i < PANEL_VALUES; i++)");
        Line("    {");
        Line("        instrument.panel.values[i] = PANEL_NO_VALUE;");
        Line("    }");
        if (_settings is not null)
        {
            Line("    instrument.since_look = 0;");
            Line("    instrument.is_corrupt = settings_load(&instrument.kept) == SETTINGS_FACTORY ? 1U : 0U;");
        }

        Line($"    panel_start({(ItemOf(MemoryKeeps.Language) is { } item ? (item.Word == new Word(8, false) ? "" : "(uint8_t)") + "instrument.kept." + item.CodeName : "0")});");
        if (_calibration is not null)
        {
            Line("    instrument.since_reading = 0;");
            Line("    calibration_start(&instrument.calibration);");
            Line("    work_with_settings();");
        }

        if (HasOutput)
        {
            Line("    instrument.has_reading = 0;");
            Line("    instrument.computed = 0;");
            Line($"    instrument.followed = {CodeText.Literal(PanelEngine.StartSteps(_program), StepsWord)};");
            if (_trim is not null)
            {
                Line("    trim_with_settings();");
                Line("    instrument.asked = instrument.followed;");
            }

            Line(_trim is null ? "    instrument.given = instrument.followed;" : "    instrument.given = output_trim_code(&instrument.trim, instrument.asked);");
            Line("    board_write_converter(instrument.given);");
        }

        Line("}");
        Line();
    }

    private void Tick()
    {
        Line("void instrument_tick(void)");
        Line("{");
        Line("    const uint16_t now = board_milliseconds();");
        Line("    const uint16_t elapsed = (uint16_t)(now - instrument.before);");
        Line($"    {_design.Code.Word.CType} code = board_read_converter();");
        if (HasOutput)
        {
            Line($"    {_design.OutputWord!.Value.CType} output;");
        }

        Line("    instrument.before = now;");
        Hold("code", _design.Code);
        if (_calibration is not null)
        {
            Line("    instrument.since_reading += elapsed;");
        }

        if (IsSummed)
        {
            Line($"    instrument.sum = ({_design.Sum.Word.CType})(instrument.sum + code);");
            Line("    instrument.count++;");
            Line("    if (instrument.count >= ARITHMETIC_READINGS)");
            Line("    {");
            Line("        evaluate(instrument.sum);");
            Line("        instrument.sum = 0;");
            Line("        instrument.count = 0;");
            Line("    }");
        }
        else
        {
            Line("    evaluate(code);");
        }

        if (_settings is not null)
        {
            Block(
                """
                    instrument.since_look += elapsed;
                    if (instrument.since_look >= LOOKS_EVERY)
                    {
                        struct settings seen;
                        instrument.since_look = 0;
                        if (settings_load(&seen) == SETTINGS_FACTORY)
                        {
                            instrument.is_corrupt = 1;
                        }
                    }
                """);
        }

        Line("    instrument.panel.elapsed = elapsed;");
        Line("    instrument.panel.keys = board_read_keys();");
        Line("    instrument.panel.failures = (uint8_t)((instrument.is_broken ? PANEL_SENSOR_BROKEN : 0U)");
        if (_settings is not null)
        {
            Line("        | (instrument.is_corrupt ? PANEL_MEMORY_CORRUPT : 0U)");
        }

        Line("        | (instrument.is_outside ? PANEL_OUT_OF_RANGE : 0U));");
        Line(HasOutput ? $"    instrument.panel.values[PANEL_OUTPUT] = (int32_t)instrument.{(_trim is null ? "given" : "asked")};" : "    instrument.panel.values[PANEL_OUTPUT] = 0;");
        if (_calibration is not null)
        {
            Line("    instrument.panel.values[PANEL_SECONDS_STEADY] = (int32_t)calibration_seconds_steady(&instrument.calibration);");
            Line("    instrument.panel.steady = (calibration_is_steady(&instrument.calibration) && !instrument.is_broken) ? 1U : 0U;");
        }
        else
        {
            Line("    instrument.panel.steady = 0;");
        }

        Line("    panel_tick(&instrument.panel);");
        if (HasOutput)
        {
            Give();
            Block(
                """
                    if (output != instrument.given)
                    {
                        instrument.given = output;
                        board_write_converter(output);
                    }
                """);
        }

        Line("}");
    }

    /// <summary>What the converter is to be given.</summary>
    private void Give()
    {
        if (_trim is null)
        {
            Line("    output = output_code();");
            return;
        }

        if (_program.HasTrimScreens)
        {
            string steps = StepsWord.CType;
            Line("    if (panel_loop() == PANEL_LOOP_TRIM)");
            Line("    {");
            Line("        output = panel_trims() == 0U ? OUTPUT_TRIM_LOW_CODE : OUTPUT_TRIM_HIGH_CODE;");
            Line($"        instrument.asked = ({steps})(output * ({steps})OUTPUT_TRIM_STEPS);");
            Line("    }");
            Line("    else");
            Line("    {");
            Line("        instrument.asked = output_code();");
            Line("        output = output_trim_code(&instrument.trim, instrument.asked);");
            Line("    }");
            return;
        }

        Line("    instrument.asked = output_code();");
        Line("    output = output_trim_code(&instrument.trim, instrument.asked);");
    }
}
