using System.Collections.Immutable;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// Writes an integer program as C99: fixed-width types, no floating point, no heap, no recursion, nothing that the standard leaves open. The same instrument gives the same text.
/// </summary>
public sealed class ArithmeticCode
{
    private const int Vectors = 320;

    private readonly ArithmeticDesign _design;
    private readonly StringBuilder _text = new();
    private readonly SortedSet<string> _helpers = new(StringComparer.Ordinal);

    private ArithmeticCode(ArithmeticDesign design) => _design = design;

    /// <summary>The files of an arithmetic whose every number fits its word and whose divisors are never zero.</summary>
    /// <exception cref="ArgumentException">It overflows, divides by zero, or there is none.</exception>
    public static ImmutableArray<GeneratedFile> Write(ArithmeticDesign design)
    {
        if (design.Trouble is not null || !design.Program.Fits || !ArithmeticProof.Of(design).ZeroDivisors.IsEmpty)
        {
            throw new ArgumentException("Code is written of a proved arithmetic only.", nameof(design));
        }

        return
        [
            new GeneratedFile("board.h", new ArithmeticCode(design).Board(), "functions that the board supplies"),
            new GeneratedFile("arithmetic.h", new ArithmeticCode(design).Header(), "what the arithmetic takes and gives"),
            new GeneratedFile("arithmetic.c", new ArithmeticCode(design).Source(), "the arithmetic"),
            new GeneratedFile("arithmetic_test.c", new ArithmeticCode(design).HostTest(), "a test for the host, with vectors"),
        ];
    }

    private IntegerProgram Program => _design.Program;

    private string Unit => _design.Law.Instrument.Specification.Unit;

    private static string CodeType(Node node) => node.Word.CType;

    private Node SumNode => _design.Sum;

    private bool HasCalibration => _design.Zero is not null || _design.Gain is not null;

    private void Line(string line = "") => _text.Append(line).Append('\n');

    private void Line(FormattableString line) => Line(line.ToString(CultureInfo.InvariantCulture));

    private void Head(string what) => _text.Append(HeadOf(_design.Law.Instrument, what));

    /// <summary>The comment at the head of a file.</summary>
    internal static string HeadOf(Instrument instrument, string what)
    {
        string revision = instrument.Revision is { } r ? ", revision " + r.Value : "";
        return string.Join(
            '\n',
            "/*",
            " * " + Comment(instrument.Name.Value + revision) + ": " + what,
            " *",
            " * Derived from the instrument file, SHA-256 of its text:",
            " * " + Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(instrument.Source.Content))),
            " * Change the instrument file, not this one.",
            " */",
            "");
    }

    private string Board()
    {
        Head("what the board supplies.");
        Line("#ifndef BOARD_H");
        Line("#define BOARD_H");
        Line();
        Line("#include <stdint.h>");
        Line();
        Line(FormattableString.Invariant($"/* One reading of the converter {Comment(_design.Law.Converter.Name.Value)}, {Number(_design.Code.Low)} to {Number(_design.Code.High)}. Waits for it. */"));
        Line($"{CodeType(_design.Code)} board_read_converter(void);");
        if (_design.Temperature is { } temperature)
        {
            Line();
            Line($"/* Temperature {Comment(temperature.Remark)}, 0.01 degrees Celsius. */");
            Line($"{CodeType(temperature)} board_read_temperature(void);");
        }

        if (_design.OutputCode is { } output)
        {
            Line();
            Line($"/* Gives a code to the output converter {Comment(_design.Law.OutputConverter!.Name.Value)}. */");
            Line($"void board_write_converter({CodeType(output)} code);");
        }

        if (SettingsLayout.Of(_design.Law.Instrument) is { Trouble: null })
        {
            Line();
            _text.Append(SettingsCode.BoardFunctions);
        }

        Line();
        Line("#endif");
        return _text.ToString();
    }

    private string Header()
    {
        Head("from the converter's codes to measurand and output code.");
        Line("#ifndef ARITHMETIC_H");
        Line("#define ARITHMETIC_H");
        Line();
        Line("#include <stdint.h>");
        Line();
        Line("/* Readings of the converter that are added up for one value. */");
        Line(FormattableString.Invariant($"#define ARITHMETIC_READINGS {Math.Max(1, _design.Law.Converter.Average)}U"));
        Line();
        if (HasCalibration)
        {
            Line("/* What a calibration keeps. All zero is a unit that was never calibrated. */");
            if (_design.Zero is { } zero)
            {
                Line($"#define ARITHMETIC_ZERO_LEAST ({Literal(zero.Low, zero.Word)})");
                Line($"#define ARITHMETIC_ZERO_GREATEST ({Literal(zero.High, zero.Word)})");
            }

            if (_design.Gain is { } gain)
            {
                Line($"#define ARITHMETIC_GAIN_LEAST ({Literal(gain.Low, gain.Word)})");
                Line($"#define ARITHMETIC_GAIN_GREATEST ({Literal(gain.High, gain.Word)})");
            }

            Line("struct arithmetic_calibration");
            Line("{");
            if (_design.Zero is { } z)
            {
                Line($"    {z.Word.CType} zero; /* {Comment(z.Remark)}, steps of {StepText(z)} */");
            }

            if (_design.Gain is { } g)
            {
                Line($"    {g.Word.CType} gain; /* {Comment(g.Remark)}, steps of {StepText(g)} */");
            }

            Line("};");
            Line();
        }

        Line("struct arithmetic_result");
        Line("{");
        Line($"    {_design.Measurand.Word.CType} measurand; /* steps of {StepText(_design.Measurand)} */");
        if (_design.Shown is { } shown)
        {
            Line($"    {shown.Word.CType} shown; /* steps of the display, {StepText(shown)} */");
        }

        if (_design.OutputCode is { } output)
        {
            Line($"    {output.Word.CType} output_code; /* for the output converter, limits and failure applied */");
        }

        Line("};");
        Line();
        Line("/* Takes the readings from the board and adds them up. */");
        Line($"{SumNode.Word.CType} arithmetic_collect(void);");
        Line();
        Line(SumNode == _design.Code
            ? "/* Computes everything from a reading."
            : "/* Computes everything from a sum of readings.");
        Line(FormattableString.Invariant($" * Rounding adds at most {_design.Measurand.Error.ToString("G3", CultureInfo.InvariantCulture)} {Ascii(Unit)} to the measurand."));
        Line(" * What is out of its range is held to it, so that nothing given here can overflow. */");
        Line("void arithmetic_evaluate(" + string.Join(", ", Parameters()) + ");");
        Line();
        Line("#endif");
        return _text.ToString();
    }

    private IEnumerable<string> Parameters()
    {
        yield return $"{SumNode.Word.CType} {SumNode.Name}";
        if (_design.Temperature is { } temperature)
        {
            yield return $"{temperature.Word.CType} temperature";
        }

        if (HasCalibration)
        {
            yield return "const struct arithmetic_calibration *calibration";
        }

        yield return "struct arithmetic_result *result";
    }

    private string Source()
    {
        StringBuilder body = new();
        foreach (Node node in Program.Nodes)
        {
            Statement(body, node);
        }

        Head("from the converter's codes to measurand and output code.");
        Line("#include \"arithmetic.h\"");
        Line("#include \"board.h\"");
        Line();
        Places();
        foreach (string helper in _helpers)
        {
            Helper(helper);
        }

        Collect();
        Line("void arithmetic_evaluate(" + string.Join(", ", Parameters()) + ")");
        Line("{");
        _text.Append(body);
        Line();
        Line($"    result->measurand = {Name(_design.Measurand)};");
        if (_design.Shown is { } shown)
        {
            Line($"    result->shown = {Name(shown)};");
        }

        if (_design.OutputCode is { } output)
        {
            Line($"    result->output_code = {Name(output)};");
        }

        Line("}");
        return _text.ToString();
    }

    private void Collect()
    {
        Node code = _design.Code;
        Line($"{SumNode.Word.CType} arithmetic_collect(void)");
        Line("{");
        if (SumNode == code)
        {
            Line($"    {code.Word.CType} code = board_read_converter();");
            Hold(_text, "    ", code, code.Low, code.High, "code");
            Line("    return code;");
        }
        else
        {
            Word wide = Computing(SumNode.Word);
            Line($"    {SumNode.Word.CType} sum = 0;");
            Line(SumNode.Constant <= 255 ? "    uint8_t i;" : SumNode.Constant <= 65535 ? "    uint16_t i;" : "    uint32_t i;");
            Line("    for (i = 0; i < ARITHMETIC_READINGS; i++)");
            Line("    {");
            Line($"        {code.Word.CType} code = board_read_converter();");
            Hold(_text, "        ", code, code.Low, code.High, "code");
            Line($"        sum = ({SumNode.Word.CType})(({wide.CType})sum + ({wide.CType})code);");
            Line("    }");
            Line("    return sum;");
        }

        Line("}");
        Line();
    }

    /// <summary>Holds a variable between two limits; a comparison that its type decides is left out.</summary>
    private static void Hold(StringBuilder text, string indent, Node node, Int128 low, Int128 high, string name)
    {
        if (low > node.Word.Least)
        {
            text.Append(CultureInfo.InvariantCulture, $"{indent}if ({name} < {Literal(low, node.Word)})\n{indent}{{\n{indent}    {name} = {Literal(low, node.Word)};\n{indent}}}\n");
        }

        if (high < node.Word.Greatest)
        {
            text.Append(CultureInfo.InvariantCulture, $"{indent}if ({name} > {Literal(high, node.Word)})\n{indent}{{\n{indent}    {name} = {Literal(high, node.Word)};\n{indent}}}\n");
        }
    }

    private void Statement(StringBuilder body, Node node)
    {
        string type = node.Word.CType;
        Node a = node.Arguments.Length > 0 ? Program.Nodes[node.Arguments[0]] : node;
        Node b = node.Arguments.Length > 1 ? Program.Nodes[node.Arguments[1]] : node;
        string remark = node.Remark.Length > 0 ? " /* " + Comment(node.Remark) + Value(node) + " */" : "";
        switch (node.Operation)
        {
            case Operation.Input when node == SumNode:
                Hold(body, "    ", node, node.Low, node.High, node.Name);
                break;
            case Operation.Input when node == _design.Code:
                break;
            case Operation.Input when node == _design.Temperature:
                Hold(body, "    ", node, node.Low, node.High, node.Name);
                break;
            case Operation.Input:
                body.Append(CultureInfo.InvariantCulture, $"    {type} {node.Name} = calibration->{node.Name};{remark}\n");
                Hold(body, "    ", node, node.Low, node.High, node.Name);
                break;
            case Operation.Sum:
                Hold(body, "    ", node, node.Low, node.High, node.Name);
                break;
            case Operation.Constant:
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {Literal(node.Constant, node.Word)};{remark}\n");
                break;
            case Operation.Add:
            case Operation.Subtract:
            case Operation.Multiply:
                string sign = node.Operation == Operation.Add ? "+" : node.Operation == Operation.Subtract ? "-" : "*";
                Word wide = Computing(node.Word, a, b);
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {(node.Word == wide ? "" : $"({type})(")}{As(a, wide)} {sign} {As(b, wide)}{(node.Word == wide ? "" : ")")};{remark}\n");
                break;
            case Operation.Shift:
                Word shifted = Computing(node.Word, a);
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {(node.Word == shifted ? "" : $"({type})")}{Call("shift", shifted, node.Truncates)}({As(a, shifted)}, {node.Constant}U);{remark}\n");
                break;
            case Operation.Divide:
                Word divided = Computing(node.Word, a, b);
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {(node.Word == divided ? "" : $"({type})")}{Call("divide", divided, node.Truncates)}({As(a, divided)}, {As(b, divided)});{remark}\n");
                break;
            case Operation.Clamp:
                body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = {Held(node, a)};{remark}\n");
                break;
            case Operation.Select:
                string outside = string.Join(
                    " || ",
                    new[]
                    {
                        node.LowLimit > b.Word.Least && node.LowLimit > b.Low ? $"{b.Name} < {Literal(node.LowLimit, b.Word)}" : "",
                        node.HighLimit < b.Word.Greatest && node.HighLimit < b.High ? $"{b.Name} > {Literal(node.HighLimit, b.Word)}" : "",
                    }.Where(t => t.Length > 0).Select(t => $"({t})"));
                body.Append(outside.Length == 0
                    ? $"    const {type} {node.Name} = {As(a, node.Word)};{remark}\n"
                    : $"    const {type} {node.Name} = ({outside}) ? ({type}){Literal(node.Constant, node.Word)} : {As(a, node.Word)};{remark}\n");
                break;
            default:
                Table(body, node, a, remark);
                break;
        }
    }

    /// <summary>A number held between two limits, as an expression.</summary>
    private static string Held(Node node, Node a)
    {
        string type = node.Word.CType;
        string inner = As(a, node.Word);
        if (node.HighLimit < a.High)
        {
            inner = $"({a.Name} > {Literal(node.HighLimit, a.Word)}) ? ({type}){Literal(node.HighLimit, node.Word)} : {inner}";
        }

        return node.LowLimit > a.Low ? $"({a.Name} < {Literal(node.LowLimit, a.Word)}) ? ({type}){Literal(node.LowLimit, node.Word)} : ({inner})" : inner;
    }

    private void Table(StringBuilder body, Node node, Node place, string remark)
    {
        string type = node.Word.CType;
        int places = (int)node.Constant;
        Word at = Computing(place.Word, place);
        Word inner = Computing(node.InnerWord, node);
        int last = node.Values.Length - 2;
        body.Append(CultureInfo.InvariantCulture, $"    static const {type} {node.Name}_table[]{(IsPlaced(node) ? " TABLE_PLACE" : "")} = {{{remark}\n");
        for (int i = 0; i < node.Values.Length; i += 8)
        {
            body.Append("        ").AppendJoin(", ", node.Values.Skip(i).Take(8).Select(v => Literal(v, node.Word))).Append(",\n");
        }

        body.Append("    };\n");
        string index = $"{node.Name}_index";
        string held = last == 0 ? "0U" : $"(({at.CType}){place.Name} >> {places}U)";
        body.Append(CultureInfo.InvariantCulture, $"    const uint16_t {index} = (uint16_t)({held} > {last}U ? {last}U : {held});\n");
        body.Append(CultureInfo.InvariantCulture, $"    const {inner.CType} {node.Name}_inside = ({inner.CType})(({at.CType}){place.Name} - (({at.CType}){index} << {places}U));\n");
        body.Append(CultureInfo.InvariantCulture, $"    const {inner.CType} {node.Name}_rise = ({inner.CType})(({inner.CType}){Entry(node, $"{index} + 1U")} - ({inner.CType}){Entry(node, index)});\n");
        Word sum = Computing(node.Word, node) is var w && (w.IsSigned || inner.IsSigned) ? new Word(Math.Max(w.Bits, inner.Bits), true) : w;
        body.Append(CultureInfo.InvariantCulture, $"    const {type} {node.Name} = ({type})(({sum.CType}){Entry(node, index)} + ({sum.CType}){Call("shift", inner, node.Truncates)}({node.Name}_rise * {node.Name}_inside, {places}U));\n");
    }

    private static bool IsPlaced(Node table) => table.Word.Bits <= 32;

    private static string Entry(Node table, string index) =>
        IsPlaced(table) ? FormattableString.Invariant($"TABLE_READ_{table.Word.Bits}({table.Word.CType}, {table.Name}_table[{index}])") : $"{table.Name}_table[{index}]";

    /// <summary>Where tables lie and how a number of them is read: on a processor whose flash is no part of its data space they would else be copied into RAM.</summary>
    private void Places()
    {
        int[] widths = [.. Program.Nodes.Where(n => n.Operation == Operation.Table && IsPlaced(n)).Select(n => n.Word.Bits).Distinct().Order()];
        if (widths.Length == 0)
        {
            return;
        }

        Line("#if defined(__AVR__)");
        Line("/* The flash of this processor is an address space of its own. Tables stay in it. */");
        Line("#include <avr/pgmspace.h>");
        Line("#define TABLE_PLACE PROGMEM");
        foreach (int bits in widths)
        {
            Line(FormattableString.Invariant($"#define TABLE_READ_{bits}(type, number) ((type)pgm_read_{(bits == 8 ? "byte" : bits == 16 ? "word" : "dword")}(&(number)))"));
        }

        Line("#else");
        Line("#define TABLE_PLACE");
        foreach (int bits in widths)
        {
            Line(FormattableString.Invariant($"#define TABLE_READ_{bits}(type, number) (number)"));
        }

        Line("#endif");
        Line();
    }

    /// <summary>The type that an operation is computed in: at least 32 bits, so that no promotion can change its sign, and with a sign as soon as anything in it has one.</summary>
    private static Word Computing(Word word, params ReadOnlySpan<Node> arguments)
    {
        bool isSigned = word.IsSigned;
        int bits = Math.Max(32, word.Bits);
        Int128 high = 0;
        foreach (Node argument in arguments)
        {
            isSigned |= argument.Low < 0;
            high = Int128.Max(high, argument.High);
            bits = Math.Max(bits, argument.Word.Bits);
        }

        return isSigned && high > new Word(bits, true).Greatest ? new Word(64, true) : new Word(bits, isSigned);
    }

    private static string As(Node node, Word word) => node.Word == word ? node.Name : $"({word.CType}){node.Name}";

    private string Call(string what, Word word, bool truncates)
    {
        string name = FormattableString.Invariant($"{what}_{(truncates ? "cut" : "nearest")}_{(word.IsSigned ? "s" : "u")}{word.Bits}");
        _helpers.Add(name);
        return name;
    }

    private void Helper(string name)
    {
        string[] parts = name.Split('_');
        bool isShift = parts[0] == "shift";
        bool isNearest = parts[1] == "nearest";
        bool isSigned = parts[2][0] == 's';
        string bits = parts[2][1..];
        string magnitude = $"uint{bits}_t";
        string type = isSigned ? $"int{bits}_t" : magnitude;
        string how = isNearest ? "to the nearest, a half away from zero" : "cut off towards zero";
        Line(isShift ? $"/* value / 2^places, {how} */" : $"/* value / divisor, {how}; the divisor is never zero */");
        Line(isShift ? $"static {type} {name}({type} value, uint8_t places)" : $"static {type} {name}({type} value, {type} divisor)");
        Line("{");
        if (isSigned)
        {
            Line($"    const {magnitude} size = (value < 0) ? ({magnitude})0U - ({magnitude})value : ({magnitude})value;");
        }
        else
        {
            Line($"    const {magnitude} size = value;");
        }

        if (isShift)
        {
            Line(isNearest
                ? $"    const {magnitude} result = (size >> places) + ((size >> (places - 1U)) & 1U);"
                : $"    const {magnitude} result = size >> places;");
        }
        else
        {
            Line(isSigned
                ? $"    const {magnitude} by = (divisor < 0) ? ({magnitude})0U - ({magnitude})divisor : ({magnitude})divisor;"
                : $"    const {magnitude} by = divisor;");
            if (isNearest)
            {
                Line($"    const {magnitude} whole = size / by;");
                Line($"    const {magnitude} rest = size - whole * by;");
                Line($"    const {magnitude} result = whole + ((rest >= by - rest) ? 1U : 0U);");
            }
            else
            {
                Line($"    const {magnitude} result = size / by;");
            }
        }

        string negative = isShift ? "value < 0" : "(value < 0) != (divisor < 0)";
        Line(isSigned ? $"    return ({negative}) ? -({type})result : ({type})result;" : "    return result;");
        Line("}");
        Line();
    }

    private string HostTest()
    {
        Head("a test for the host. Compile it with arithmetic.c; it ends with 0 when every vector agrees.");
        Line("#include <inttypes.h>");
        Line("#include <stdio.h>");
        Line("#include <string.h>");
        Line();
        Line("#include \"arithmetic.h\"");
        Line("#include \"board.h\"");
        Line();
        Line("struct vector");
        Line("{");
        Line("    int64_t code, temperature, zero, gain, measurand, shown, output_code;");
        Line("};");
        Line();
        Line($"static {CodeType(_design.Code)} next_code;");
        Line();
        Line($"{CodeType(_design.Code)} board_read_converter(void)");
        Line("{");
        Line("    return next_code;");
        Line("}");
        if (_design.Temperature is { } temperature)
        {
            Line();
            Line($"{CodeType(temperature)} board_read_temperature(void)");
            Line("{");
            Line("    return 0;");
            Line("}");
        }

        if (_design.OutputCode is { } output)
        {
            Line();
            Line($"void board_write_converter({CodeType(output)} code)");
            Line("{");
            Line("    (void)code;");
            Line("}");
        }

        Line();
        Line("/* code, temperature, zero, gain; measurand, shown, output code */");
        Line("static const struct vector vectors[] = {");
        foreach ((ArithmeticInputs inputs, long[] outputs) in TestVectors(_design, Vectors))
        {
            Line(FormattableString.Invariant($"    {{{inputs.Code}, {inputs.Temperature}, {inputs.Zero}, {inputs.Gain}, {string.Join(", ", outputs)}}},"));
        }

        Line("};");
        Line();
        Line("static void run(const struct vector *given, struct vector *found)");
        Line("{");
        Line("    struct arithmetic_result result;");
        if (HasCalibration)
        {
            Line("    struct arithmetic_calibration calibration;");
            Line(_design.Zero is { } z ? $"    calibration.zero = ({z.Word.CType})given->zero;" : "");
            if (_design.Gain is { } g)
            {
                Line($"    calibration.gain = ({g.Word.CType})given->gain;");
            }
        }

        Line($"    next_code = ({CodeType(_design.Code)})given->code;");
        List<string> arguments = ["arithmetic_collect()"];
        if (_design.Temperature is { } t)
        {
            arguments.Add($"({t.Word.CType})given->temperature");
        }

        if (HasCalibration)
        {
            arguments.Add("&calibration");
        }

        Line($"    arithmetic_evaluate({string.Join(", ", arguments)}, &result);");
        Line("    found->measurand = result.measurand;");
        Line(_design.Shown is null ? "    found->shown = 0;" : "    found->shown = result.shown;");
        Line(_design.OutputCode is null ? "    found->output_code = 0;" : "    found->output_code = result.output_code;");
        Line("}");
        Line();
        Line("/* With the argument -, every line of the input holds code, temperature, zero and gain; the results come out line by line. */");
        Line("int main(int count, char **words)");
        Line("{");
        Line("    struct vector given;");
        Line("    struct vector found;");
        Line("    unsigned failed = 0;");
        Line("    size_t i;");
        Line("    memset(&given, 0, sizeof given);");
        Line("    if (count > 1 && strcmp(words[1], \"-\") == 0)");
        Line("    {");
        Line("        while (scanf(\"%\" SCNd64 \" %\" SCNd64 \" %\" SCNd64 \" %\" SCNd64, &given.code, &given.temperature, &given.zero, &given.gain) == 4)");
        Line("        {");
        Line("            run(&given, &found);");
        Line("            printf(\"%\" PRId64 \" %\" PRId64 \" %\" PRId64 \"\\n\", found.measurand, found.shown, found.output_code);");
        Line("        }");
        Line("        return 0;");
        Line("    }");
        Line("    for (i = 0; i < sizeof vectors / sizeof vectors[0]; i++)");
        Line("    {");
        Line("        const struct vector *v = &vectors[i];");
        Line("        run(v, &found);");
        Line("        if (found.measurand != v->measurand || found.shown != v->shown || found.output_code != v->output_code)");
        Line("        {");
        Line("            failed++;");
        Line("            printf(\"vector %u: code %\" PRId64 \" gives %\" PRId64 \", not %\" PRId64 \"\\n\", (unsigned)i, v->code, found.measurand, v->measurand);");
        Line("        }");
        Line("    }");
        Line("    printf(\"%u vectors, %u failed\\n\", (unsigned)(sizeof vectors / sizeof vectors[0]), failed);");
        Line("    return failed == 0 ? 0 : 1;");
        Line("}");
        return _text.ToString();
    }

    /// <summary>Inputs spread over the codes, the temperatures and the accepted calibrations, with what the model makes of them: measurand, shown, output code; the same ones every time.</summary>
    public static IEnumerable<(ArithmeticInputs Inputs, long[] Outputs)> TestVectors(ArithmeticDesign design, int count)
    {
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        ulong state = 1;
        for (int i = 0; i < count; i++)
        {
            ArithmeticInputs inputs = i switch
            {
                0 => design.Nominal((long)design.Code.Low),
                1 => design.Nominal((long)design.Code.High),
                < 64 => design.Nominal(Between(design.Code, 0)),
                _ => new ArithmeticInputs(Between(design.Code, 0), Between(design.Temperature, 0), Between(design.Zero, 0), Between(design.Gain, 0)),
            };
            yield return (inputs, Outputs(design, inputs, numbers));
        }

        long Between(Node? node, long otherwise)
        {
            // Knuth's MMIX constants; the upper bits are the random ones.
            state = (state * 6364136223846793005UL) + 1442695040888963407UL;
            return node is null ? otherwise : (long)(node.Low + (Int128)((UInt128)(state >> 32) * (UInt128)(node.High - node.Low + 1) >> 32));
        }
    }

    /// <summary>Measurand, shown and output code of a run in words; 0 for what there is not.</summary>
    public static long[] Outputs(ArithmeticDesign design, in ArithmeticInputs inputs, Int128[] numbers)
    {
        design.Run(inputs, numbers, inWords: true);
        return
        [
            (long)numbers[design.Measurand.Index],
            design.Shown is { } shown ? (long)numbers[shown.Index] : 0,
            design.OutputCode is { } output ? (long)numbers[output.Index] : 0,
        ];
    }

    private string Name(Node node) => Program.Nodes[node.Index].Name;

    /// <summary>A number as C writes it in an expression of a type.</summary>
    internal static string Literal(Int128 value, Word word)
    {
        if (!word.IsSigned)
        {
            return Number(value) + (word.Bits == 64 ? "ULL" : "U");
        }

        string suffix = word.Bits == 64 ? "LL" : "";

        // The least number has no positive counterpart that a literal could say.
        return value == word.Least ? $"({Number(value + 1)}{suffix} - 1)" : Number(value) + suffix;
    }

    private static string Number(Int128 value) => value.ToString(CultureInfo.InvariantCulture);

    private static string StepText(Node node) => (node.Step.ToString("G6", CultureInfo.InvariantCulture) + " " + Ascii(node.Unit)).TrimEnd();

    private static string Value(Node node) => node.Operation is Operation.Constant or Operation.Table or Operation.Sum ? "" : FormattableString.Invariant($"; {Number(node.Low)} to {Number(node.High)}");

    /// <summary>A text that is safe inside of a comment and that every compiler reads.</summary>
    internal static string Comment(string text) => Ascii(text).Replace("*/", "* /", StringComparison.Ordinal).Replace("/*", "/ *", StringComparison.Ordinal);

    private static string Ascii(string text)
    {
        StringBuilder plain = new();
        foreach (char c in text.Replace("°C", "degrees Celsius", StringComparison.Ordinal).Replace("Ω", "ohm", StringComparison.Ordinal).Replace("°", "degrees ", StringComparison.Ordinal))
        {
            plain.Append(c is >= ' ' and < '\u007f' and not '\\' ? c : c is '–' or '−' ? '-' : c == 'µ' ? 'u' : '?');
        }

        return plain.ToString();
    }
}
