using System.Collections.Immutable;
using System.Globalization;

namespace Throughline.Firmware;

/// <summary>Writes the user's calibration as C99, under the same restrictions as the arithmetic. It is <see cref="CalibrationSequence"/> and <see cref="CalibrationDesign"/>, number for number.</summary>
public sealed class CalibrationCode
{
    private const int Vectors = 200;

    private readonly CalibrationDesign _design;
    private CodeFile _file = null!;

    private CalibrationCode(CalibrationDesign design) => _design = design;

    /// <summary>The files of a calibration whose every number fits its word and whose divisors are never zero.</summary>
    /// <exception cref="ArgumentException">It overflows, divides by zero, or there is none.</exception>
    public static ImmutableArray<GeneratedFile> Write(CalibrationDesign design)
    {
        if (!design.IsSound)
        {
            throw new ArgumentException("Code is written of a proved calibration only.", nameof(design));
        }

        return
        [
            new GeneratedFile("calibration.h", new CalibrationCode(design).Header(), "the user's calibration, step by step"),
            new GeneratedFile("calibration.c", new CalibrationCode(design).Source(), "the calibration"),
            new GeneratedFile("calibration_test.c", new CalibrationCode(design).HostTest(), "a test for the host, with vectors"),
        ];
    }

    private bool HasTemperature => !_design.Temperatures.IsEmpty;

    private int Points => _design.Points;

    private Word EnteredWord => Common(_design.Entered);

    private Word TakenWord => _design.Arithmetic.Uncalibrated.Word;

    private Word TemperatureWord => _design.Temperatures[0].Word;

    private Word SteadyWord => Word.For(0, Math.Max(1, _design.SteadyMilliseconds + ushort.MaxValue), 32);

    private static Word Common(ImmutableArray<Node> nodes) => Word.For(nodes.Min(n => n.Low), nodes.Max(n => n.High), 64);

    private void Line(string line = "") => _file.Line(line);

    private void Line(FormattableString line) => _file.Line(line);

    private string Header()
    {
        _file = new CodeFile(_design.Law.Instrument, "the user's calibration.");
        Line("#ifndef CALIBRATION_H");
        Line("#define CALIBRATION_H");
        Line();
        Line("#include <stdint.h>");
        Line();
        Line("#include \"arithmetic.h\"");
        Line();
        Line($"#define CALIBRATION_STANDARDS {Points}U");
        for (int i = 0; i < Points; i++)
        {
            Line();
            Line($"/* Standard {i + 1}, steps of {CodeText.StepText(_design.Entered[i])}: what may be entered, and what it is until then. */");
            Line($"#define CALIBRATION_LEAST_{i + 1} ({Entered(_design.Standards[i].Low)})");
            Line($"#define CALIBRATION_GREATEST_{i + 1} ({Entered(_design.Standards[i].High)})");
            Line($"#define CALIBRATION_STATED_{i + 1} ({Entered(_design.Standards[i].Stated)})");
        }

        Line();
        Line("/* Why a calibration is refused; 0 when it is accepted. */");
        Line($"#define CALIBRATION_ZERO_REFUSED {(int)CalibrationRefusal.Zero}U");
        Line($"#define CALIBRATION_SLOPE_REFUSED {(int)CalibrationRefusal.Slope}U");
        Line($"#define CALIBRATION_TOO_NEAR {(int)CalibrationRefusal.TooNear}U");
        Line($"#define CALIBRATION_INCOMPLETE {(int)CalibrationRefusal.Incomplete}U");
        Line();
        Line("/* All that a calibration knows. The fields are for calibration.c; others read entered and working. */");
        Line("struct calibration");
        Line("{");
        Line("    struct arithmetic_calibration working; /* what readings are made with: changed by an accepted calibration only */");
        Line($"    {EnteredWord.CType} entered[CALIBRATION_STANDARDS]; /* the standards as the user has entered them */");
        Line($"    {TakenWord.CType} taken[CALIBRATION_STANDARDS];");
        if (HasTemperature)
        {
            Line($"    {TemperatureWord.CType} temperature[CALIBRATION_STANDARDS];");
        }

        if (_design.EntriesCountAtOnce)
        {
            Line($"    {TakenWord.CType} accepted_taken[CALIBRATION_STANDARDS];");
            if (HasTemperature)
            {
                Line($"    {TemperatureWord.CType} accepted_temperature[CALIBRATION_STANDARDS];");
            }

            Line("    uint8_t has_accepted;");
        }

        Line($"    {TakenWord.CType} least;");
        Line($"    {TakenWord.CType} greatest;");
        Line($"    {TakenWord.CType} last;");
        if (HasTemperature)
        {
            Line($"    {TemperatureWord.CType} last_temperature;");
        }

        Line($"    {SteadyWord.CType} steady_milliseconds;");
        Line("    uint8_t taken_mask; /* one bit for each standard whose reading was taken */");
        Line("    uint8_t has_reading;");
        Line("    uint8_t is_under_way;");
        Line("};");
        Line();
        Line("struct calibration_result");
        Line("{");
        Line("    uint8_t refused; /* bits as above */");
        Line("    uint16_t slope; /* 0.1 % of the theoretical slope */");
        Line($"    {_design.ShownZero.Word.CType} zero; /* steps of {(_design.ZeroStep.ToString("G6", CultureInfo.InvariantCulture) + " " + CodeText.Plain(_design.ZeroUnit)).TrimEnd()} */");
        Line("    struct arithmetic_calibration found; /* what is kept when it is accepted */");
        Line("};");
        Line();
        Line("/* A unit that was never calibrated, with the standards as stated in the instrument file. */");
        Line("void calibration_start(struct calibration *calibration);");
        Line();
        Line("/* Puts in what the settings memory holds, held to its ranges. A calibration under way is abandoned. */");
        Line($"void calibration_load(struct calibration *calibration, const struct arithmetic_calibration *working, const {EnteredWord.CType} *entered);");
        Line();
        Line("/* Begins: nothing is taken, and the reading has to become steady. */");
        Line("void calibration_begin(struct calibration *calibration);");
        Line();
        Line("/* Another standard: the reading has to become steady anew. */");
        Line("void calibration_settle(struct calibration *calibration);");
        Line();
        Line("/* A reading, with the milliseconds since the one before. Steady: since the reading last moved, least and greatest of all lie no");
        Line($" * farther apart than {_design.SteadyWithin.ToString(CultureInfo.InvariantCulture)} steps, and {_design.SteadyMilliseconds.ToString(CultureInfo.InvariantCulture)} ms have gone by. A reading that makes it wider begins anew. */");
        Line($"void calibration_offer(struct calibration *calibration, {TakenWord.CType} uncalibrated, {(HasTemperature ? TemperatureWord.CType + " temperature, " : "")}uint16_t milliseconds);");
        Line();
        Line("uint8_t calibration_is_steady(const struct calibration *calibration);");
        Line();
        Line("/* Whole seconds for which it has been steady, no more than it has to. */");
        Line("uint16_t calibration_seconds_steady(const struct calibration *calibration);");
        Line();
        Line("/* Enters the value of a standard, counted from 0, held to its range. */");
        Line($"void calibration_enter(struct calibration *calibration, uint8_t standard, {EnteredWord.CType} value);");
        Line();
        Line("/* Takes the last reading as that of a standard. 0, and nothing is taken, while the reading is not steady. */");
        Line("uint8_t calibration_take(struct calibration *calibration, uint8_t standard);");
        Line();
        Line("/* Computes the line and judges it. 1 when it is accepted: readings are made with it from now on; else nothing changes. */");
        Line("uint8_t calibration_judge(struct calibration *calibration, struct calibration_result *result);");
        Line();
        Line("/* Ends a calibration. What readings are made with stays, and so do the entered values. */");
        Line("void calibration_abandon(struct calibration *calibration);");
        Line();
        Line("#endif");
        return _file.ToString();
    }

    private string Entered(long value) => CodeText.Literal(value, EnteredWord);

    private string Source()
    {
        ProgramText program = new(_design.Program, Source);
        List<Node> wanted = [_design.ShownSlope, _design.ShownZero, _design.Zero, _design.RoughZero, _design.KeptZero, .. _design.Distances];
        wanted.AddRange(new[] { _design.KeptGain, _design.Ratio, NeedsSpread ? _design.Spread : null }.OfType<Node>());
        string body = program.Body(wanted);
        _file = new CodeFile(_design.Law.Instrument, "the user's calibration.");
        Line("#include \"calibration.h\"");
        Line();
        _file.Text.Append(program.Functions());
        Compute(body);
        Start();
        Steadiness();
        Taking();
        return _file.ToString();

        string? Source(Node node)
        {
            int i = _design.Entered.IndexOf(node);
            return i >= 0 ? Cast(node, EnteredWord) + FormattableString.Invariant($"entered[{i}]")
                : (i = _design.Taken.IndexOf(node)) >= 0 ? FormattableString.Invariant($"taken[{i}]")
                : FormattableString.Invariant($"temperature[{_design.Temperatures.IndexOf(node)}]");
        }
    }

    private static string Cast(Node node, Word from) => node.Word == from ? "" : $"({node.Word.CType})";

    /// <summary>Whether the code looks at what it divides by: not where it is known to be large enough.</summary>
    private bool NeedsSpread => _design.Spread is { } spread && _design.LeastSpread > spread.LeastSize;

    private string Name(Node node) => _design.Program.Nodes[node.Index].Name;

    private void Compute(string body)
    {
        Line("/* Everything from what was taken. What is out of its range is held to it, so that nothing given here can overflow. */");
        Line($"static void compute(const {EnteredWord.CType} *entered, const {TakenWord.CType} *taken, {(HasTemperature ? $"const {TemperatureWord.CType} *temperature, " : "")}struct calibration_result *result)");
        Line("{");
        _file.Text.Append(body);
        Line("    uint8_t refused = 0U;");
        foreach (Node distance in _design.Distances)
        {
            Line($"    if ({Smaller(distance, _design.Apart)})");
            Line("    {");
            Line("        refused = CALIBRATION_TOO_NEAR;");
            Line("    }");
        }

        if (NeedsSpread && !_design.DividesByReadings)
        {
            Line($"    if ({Smaller(_design.Spread!, _design.LeastSpread)})");
            Line("    {");
            Line("        refused = CALIBRATION_TOO_NEAR;");
            Line("    }");
        }

        bool canBeTooNear = !_design.Distances.IsEmpty || (NeedsSpread && !_design.DividesByReadings);
        string zero = Name(_design.Zero);
        if (canBeTooNear)
        {
            Line("    if (refused != 0U)");
            Line("    {");
            Line("        result->refused = refused;");
            Line("        result->slope = 0U;");
            Line("        result->zero = 0;");
            Kept("        ", "0", "0");
            Line("        return;");
            Line("    }");
        }

        if (_design.Ratio is { } ratio)
        {
            List<string> bad = [$"({Name(ratio)} < {CodeText.Literal(_design.RatioLow, ratio.Word)})", $"({Name(ratio)} > {CodeText.Literal(_design.RatioHigh, ratio.Word)})"];
            if (NeedsSpread && _design.DividesByReadings)
            {
                bad.Add($"({Name(_design.Spread!)} < {CodeText.Literal(_design.LeastSpread, _design.Spread!.Word)})");
            }

            foreach ((Node off, Int128 most) in _design.Scatter)
            {
                bad.AddRange(new[]
                {
                    off.Low < -most ? $"({Name(off)} < {CodeText.Literal(-most, off.Word)})" : "",
                    off.High > most ? $"({Name(off)} > {CodeText.Literal(most, off.Word)})" : "",
                }.Where(t => t.Length > 0));
            }

            Line($"    if ({string.Join(" || ", bad)})");
            Line("    {");
            Line("        refused = CALIBRATION_SLOPE_REFUSED;");
            Line("    }");
            if (_design.RoughZero != _design.Zero)
            {
                Line("    if (refused != 0U)");
                Line("    {");
                Judged("        ", _design.RoughZero);
                Line("    }");
                Line("    else");
                Line("    {");
                Judged("        ", _design.Zero);
                Line("    }");
            }
            else
            {
                Judged("    ", _design.Zero);
            }
        }
        else
        {
            Judged("    ", _design.Zero);
        }

        Line("    result->refused = refused;");
        Line($"    result->slope = {(_design.ShownSlope.Word == new Word(16, false) ? "" : "(uint16_t)")}{Name(_design.ShownSlope)};");
        Line($"    result->zero = {Name(_design.ShownZero)};");
        Kept("    ", Name(_design.KeptZero), _design.KeptGain is { } gain ? Name(gain) : "0");
        Line("}");
        Line();
    }

    private void Judged(string indent, Node zero)
    {
        List<string> bad = [];
        if (_design.ZeroLow > zero.Low)
        {
            bad.Add($"({Name(zero)} < {CodeText.Literal(_design.ZeroLow, zero.Word)})");
        }

        if (_design.ZeroHigh < zero.High)
        {
            bad.Add($"({Name(zero)} > {CodeText.Literal(_design.ZeroHigh, zero.Word)})");
        }

        if (bad.Count == 0)
        {
            return;
        }

        Line($"{indent}if ({(bad.Count == 1 ? bad[0][1..^1] : string.Join(" || ", bad))})");
        Line(indent + "{");
        Line(indent + "    refused = (uint8_t)(refused | CALIBRATION_ZERO_REFUSED);");
        Line(indent + "}");
    }

    private static string Smaller(Node node, Int128 least)
    {
        List<string> parts = [];
        if (node.Low < 0)
        {
            parts.Add($"({node.Name} > {CodeText.Literal(-(Int128)least, node.Word)})");
        }

        if (node.High > 0)
        {
            parts.Add($"({node.Name} < {CodeText.Literal(least, node.Word)})");
        }

        return parts.Count == 1 ? parts[0][1..^1] : string.Join(" && ", parts);
    }

    private void Kept(string indent, string zero, string gain)
    {
        Line($"{indent}result->found.zero = {KeptAs(_design.Arithmetic.Zero!, _design.KeptZero, zero)};");
        if (_design.Arithmetic.Gain is { } g)
        {
            Line($"{indent}result->found.gain = {KeptAs(g, _design.KeptGain, gain)};");
        }
    }

    private static string KeptAs(Node field, Node? kept, string text) => kept is null || kept.Word == field.Word || text == "0" ? text : $"({field.Word.CType}){text}";

    private void Start()
    {
        Line("void calibration_start(struct calibration *calibration)");
        Line("{");
        Line("    uint8_t i;");
        Line("    calibration->working.zero = 0;");
        if (_design.Arithmetic.Gain is not null)
        {
            Line("    calibration->working.gain = 0;");
        }

        for (int i = 0; i < Points; i++)
        {
            Line($"    calibration->entered[{i}] = CALIBRATION_STATED_{i + 1};");
        }

        Line("    for (i = 0U; i < CALIBRATION_STANDARDS; i++)");
        Line("    {");
        Line("        calibration->taken[i] = 0;");
        if (HasTemperature)
        {
            Line("        calibration->temperature[i] = 0;");
        }

        if (_design.EntriesCountAtOnce)
        {
            Line("        calibration->accepted_taken[i] = 0;");
            if (HasTemperature)
            {
                Line("        calibration->accepted_temperature[i] = 0;");
            }
        }

        Line("    }");
        Line("    calibration->least = 0;");
        Line("    calibration->greatest = 0;");
        Line("    calibration->last = 0;");
        if (HasTemperature)
        {
            Line("    calibration->last_temperature = 0;");
        }

        if (_design.EntriesCountAtOnce)
        {
            Line("    calibration->has_accepted = 0U;");
        }

        Line("    calibration_abandon(calibration);");
        Line("}");
        Line();
        Line("/* Holds the value of a standard to its range. */");
        Line($"static {EnteredWord.CType} held(uint8_t standard, {EnteredWord.CType} value)");
        Line("{");
        foreach (string end in new[] { "least", "greatest" })
        {
            Line($"    static const {EnteredWord.CType} {end}[CALIBRATION_STANDARDS] = {{{string.Join(", ", Enumerable.Range(1, Points).Select(i => FormattableString.Invariant($"CALIBRATION_{end.ToUpperInvariant()}_{i}")))}}};");
        }

        Line("    return (value < least[standard]) ? least[standard] : (value > greatest[standard]) ? greatest[standard] : value;");
        Line("}");
        Line();
        Line($"void calibration_load(struct calibration *calibration, const struct arithmetic_calibration *working, const {EnteredWord.CType} *entered)");
        Line("{");
        Line("    uint8_t i;");
        Line("    calibration_abandon(calibration);");
        Line("    calibration->working = *working;");
        foreach (Node kept in new[] { _design.Arithmetic.Zero, _design.Arithmetic.Gain }.OfType<Node>())
        {
            ProgramText.Hold(_file.Text, "    ", kept, kept.Low, kept.High, "calibration->working." + kept.Name);
        }

        if (_design.EntriesCountAtOnce)
        {
            Line("    calibration->has_accepted = 0U;");
        }

        Line("    for (i = 0U; i < CALIBRATION_STANDARDS; i++)");
        Line("    {");
        Line("        calibration->entered[i] = held(i, entered[i]);");
        Line("    }");
        Line("}");
        Line();
        Line("void calibration_begin(struct calibration *calibration)");
        Line("{");
        Line("    calibration->is_under_way = 1U;");
        Line("    calibration->taken_mask = 0U;");
        Line("    calibration_settle(calibration);");
        Line("}");
        Line();
        Line("void calibration_abandon(struct calibration *calibration)");
        Line("{");
        Line("    calibration->is_under_way = 0U;");
        Line("    calibration->taken_mask = 0U;");
        Line("    calibration_settle(calibration);");
        Line("}");
        Line();
    }

    private void Steadiness()
    {
        Node u = _design.Arithmetic.Uncalibrated;
        Line("void calibration_settle(struct calibration *calibration)");
        Line("{");
        Line("    calibration->has_reading = 0U;");
        Line("    calibration->steady_milliseconds = 0U;");
        Line("}");
        Line();
        Line($"void calibration_offer(struct calibration *calibration, {TakenWord.CType} uncalibrated, {(HasTemperature ? TemperatureWord.CType + " temperature, " : "")}uint16_t milliseconds)");
        Line("{");
        ProgramText.Hold(_file.Text, "    ", u, u.Low, u.High, "uncalibrated");
        Line("    calibration->last = uncalibrated;");
        if (HasTemperature)
        {
            ProgramText.Hold(_file.Text, "    ", _design.Temperatures[0], _design.Temperatures[0].Low, _design.Temperatures[0].High, "temperature");
            Line("    calibration->last_temperature = temperature;");
        }

        Word wide = ProgramText.Computing(TakenWord, u);
        Word span = Word.For(u.Low - u.High, u.High - u.Low, 64);
        wide = span.Bits > wide.Bits ? span : wide;
        Line("    if (calibration->has_reading != 0U)");
        Line("    {");
        Line($"        const {TakenWord.CType} least = (uncalibrated < calibration->least) ? uncalibrated : calibration->least;");
        Line($"        const {TakenWord.CType} greatest = (uncalibrated > calibration->greatest) ? uncalibrated : calibration->greatest;");
        Line($"        if ({As("greatest", wide)} - {As("least", wide)} <= {CodeText.Literal(Int128.Min(_design.SteadyWithin, wide.Greatest), wide)})");
        Line("        {");
        Line($"            const uint32_t time = (uint32_t)calibration->steady_milliseconds + milliseconds;");
        Line("            calibration->least = least;");
        Line("            calibration->greatest = greatest;");
        Line($"            calibration->steady_milliseconds = (time > {_design.SteadyMilliseconds}UL) ? ({SteadyWord.CType}){_design.SteadyMilliseconds}U : ({SteadyWord.CType})time;");
        Line("            return;");
        Line("        }");
        Line("    }");
        Line("    calibration->has_reading = 1U;");
        Line("    calibration->least = uncalibrated;");
        Line("    calibration->greatest = uncalibrated;");
        Line("    calibration->steady_milliseconds = 0U;");
        Line("}");
        Line();
        Line("uint8_t calibration_is_steady(const struct calibration *calibration)");
        Line("{");
        Line(_design.SteadyMilliseconds == 0
            ? "    return (calibration->has_reading != 0U) ? 1U : 0U;"
            : FormattableString.Invariant($"    return ((calibration->has_reading != 0U) && (calibration->steady_milliseconds >= {_design.SteadyMilliseconds}U)) ? 1U : 0U;"));
        Line("}");
        Line();
        Line("uint16_t calibration_seconds_steady(const struct calibration *calibration)");
        Line("{");
        Line("    return (uint16_t)(calibration->steady_milliseconds / 1000U);");
        Line("}");
        Line();

        string As(string name, Word word) => word == TakenWord ? name : $"({word.CType}){name}";
    }

    private void Taking()
    {
        Line($"void calibration_enter(struct calibration *calibration, uint8_t standard, {EnteredWord.CType} value)");
        Line("{");
        Line("    calibration->entered[standard] = held(standard, value);");
        if (_design.EntriesCountAtOnce)
        {
            Line("    if (calibration->has_accepted != 0U)");
            Line("    {");
            Line("        struct calibration_result now;");
            Line($"        compute(calibration->entered, calibration->accepted_taken, {(HasTemperature ? "calibration->accepted_temperature, " : "")}&now);");
            Line("        if ((now.refused & CALIBRATION_TOO_NEAR) == 0U)");
            Line("        {");
            Line("            calibration->working = now.found;");
            Line("        }");
            Line("    }");
        }

        Line("}");
        Line();
        Line("uint8_t calibration_take(struct calibration *calibration, uint8_t standard)");
        Line("{");
        Line("    if ((calibration->is_under_way == 0U) || (calibration_is_steady(calibration) == 0U))");
        Line("    {");
        Line("        return 0U;");
        Line("    }");
        Line("    calibration->taken[standard] = calibration->last;");
        if (HasTemperature)
        {
            Line("    calibration->temperature[standard] = calibration->last_temperature;");
        }

        Line("    calibration->taken_mask = (uint8_t)(calibration->taken_mask | (1U << standard));");
        Line("    calibration_settle(calibration);");
        Line("    return 1U;");
        Line("}");
        Line();
        Line("uint8_t calibration_judge(struct calibration *calibration, struct calibration_result *result)");
        Line("{");
        Line($"    if ((calibration->is_under_way == 0U) || (calibration->taken_mask != {(1 << Points) - 1}U))");
        Line("    {");
        Line("        result->refused = CALIBRATION_INCOMPLETE;");
        Line("        result->slope = 0U;");
        Line("        result->zero = 0;");
        Kept("        ", "0", "0");
        Line("        return 0U;");
        Line("    }");
        Line($"    compute(calibration->entered, calibration->taken, {(HasTemperature ? "calibration->temperature, " : "")}result);");
        Line("    if (result->refused == 0U)");
        Line("    {");
        Line("        calibration->working = result->found;");
        if (_design.EntriesCountAtOnce)
        {
            Line("        uint8_t i;");
            Line("        for (i = 0U; i < CALIBRATION_STANDARDS; i++)");
            Line("        {");
            Line("            calibration->accepted_taken[i] = calibration->taken[i];");
            if (HasTemperature)
            {
                Line("            calibration->accepted_temperature[i] = calibration->temperature[i];");
            }

            Line("        }");
            Line("        calibration->has_accepted = 1U;");
        }

        Line("    }");
        Line("    calibration_abandon(calibration);");
        Line("    return (result->refused == 0U) ? 1U : 0U;");
        Line("}");
    }

    private string HostTest()
    {
        _file = new CodeFile(_design.Law.Instrument, "a test for the host. Compile it with calibration.c; it ends with 0 when every vector agrees.");
        Line("#include <inttypes.h>");
        Line("#include <stdio.h>");
        Line("#include <string.h>");
        Line();
        Line("#include \"calibration.h\"");
        Line();
        Line("/* For each standard: entered, temperature, taken; then refused, slope, zero, kept zero, kept gain. */");
        Line("struct vector");
        Line("{");
        Line("    int64_t given[CALIBRATION_STANDARDS][3];");
        Line("    int64_t found[5];");
        Line("};");
        Line();
        Line("static const struct vector vectors[] = {");
        foreach (CalibrationInputs inputs in CalibrationTakings.Random(_design, 1).Take(Vectors))
        {
            string given = string.Join(", ", Enumerable.Range(0, Points).Select(i => FormattableString.Invariant($"{{{inputs.Entered[i]}, {inputs.Temperature[i]}, {inputs.Taken[i]}}}")));
            Line($"    {{{{{given}}}, {{{string.Join(", ", Numbers(_design.Judge(inputs)))}}}}},");
        }

        Line("};");
        Line();
        Line("/* The whole sequence: every standard is entered, becomes steady and is taken. */");
        Line("static void run(const struct vector *given, int64_t *found)");
        Line("{");
        Line("    struct calibration calibration;");
        Line("    struct calibration_result result;");
        Line("    uint8_t i;");
        Line("    calibration_start(&calibration);");
        Line("    calibration_begin(&calibration);");
        Line("    for (i = 0U; i < CALIBRATION_STANDARDS; i++)");
        Line("    {");
        Line("        const int64_t *one = given->given[i];");
        Line("        unsigned tries = 0U;");
        Line($"        calibration_enter(&calibration, i, ({EnteredWord.CType})one[0]);");
        Line("        while (calibration_take(&calibration, i) == 0U && tries++ < 10000U)");
        Line("        {");
        Line($"            calibration_offer(&calibration, ({TakenWord.CType})one[2], {(HasTemperature ? $"({TemperatureWord.CType})one[1], " : "")}60000U);");
        Line("        }");
        Line("    }");
        Line("    (void)calibration_judge(&calibration, &result);");
        Line("    found[0] = result.refused;");
        Line("    found[1] = result.slope;");
        Line("    found[2] = result.zero;");
        Line("    found[3] = result.found.zero;");
        Line(_design.Arithmetic.Gain is null ? "    found[4] = 0;" : "    found[4] = result.found.gain;");
        Line("}");
        Line();
        Line("/* With the argument -, every line of the input holds entered, temperature and taken of each standard; the results come out line by line. */");
        Line("int main(int count, char **words)");
        Line("{");
        Line("    struct vector given;");
        Line("    int64_t found[5];");
        Line("    unsigned failed = 0;");
        Line("    size_t i;");
        Line("    memset(&given, 0, sizeof given);");
        Line("    if (count > 1 && strcmp(words[1], \"-\") == 0)");
        Line("    {");
        Line("        for (;;)");
        Line("        {");
        Line("            for (i = 0; i < 3U * CALIBRATION_STANDARDS; i++)");
        Line("            {");
        Line("                if (scanf(\"%\" SCNd64, &given.given[i / 3U][i % 3U]) != 1)");
        Line("                {");
        Line("                    return 0;");
        Line("                }");
        Line("            }");
        Line("            run(&given, found);");
        Line("            printf(\"%\" PRId64 \" %\" PRId64 \" %\" PRId64 \" %\" PRId64 \" %\" PRId64 \"\\n\", found[0], found[1], found[2], found[3], found[4]);");
        Line("        }");
        Line("    }");
        Line("    for (i = 0; i < sizeof vectors / sizeof vectors[0]; i++)");
        Line("    {");
        Line("        run(&vectors[i], found);");
        Line("        if (memcmp(found, vectors[i].found, sizeof found) != 0)");
        Line("        {");
        Line("            failed++;");
        Line("            printf(\"vector %u: refused %\" PRId64 \", slope %\" PRId64 \", zero %\" PRId64 \"\\n\", (unsigned)i, found[0], found[1], found[2]);");
        Line("        }");
        Line("    }");
        Line("    printf(\"%u vectors, %u failed\\n\", (unsigned)(sizeof vectors / sizeof vectors[0]), failed);");
        Line("    return failed == 0 ? 0 : 1;");
        Line("}");
        return _file.ToString();
    }

    /// <summary>A result as the test of the host shows it: refused, slope, zero, kept zero, kept gain.</summary>
    public static long[] Numbers(CalibrationResult result) => [(long)result.Refusal, result.Slope, result.Zero, result.Found.Zero, result.Found.Gain];
}
