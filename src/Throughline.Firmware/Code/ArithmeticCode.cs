using System.Collections.Immutable;
using System.Globalization;

namespace Throughline.Firmware;

/// <summary>
/// Writes an integer program as C99: fixed-width types, no floating point, no heap, no recursion, nothing that the standard leaves open. The same instrument gives the same text.
/// </summary>
public sealed class ArithmeticCode
{
    private const int Vectors = 320;

    private readonly ArithmeticDesign _design;
    private CodeFile _file = null!;

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

    private void Line(string line = "") => _file.Line(line);

    private void Line(FormattableString line) => _file.Line(line);

    private void Head(string what) => _file = new CodeFile(_design.Law.Instrument, what);

    /// <summary>What an evaluation gives, with the names of the fields.</summary>
    private IEnumerable<(Node Node, string Field, string Remark)> Results()
    {
        yield return (_design.Measurand, "measurand", "steps of " + CodeText.StepText(_design.Measurand));
        if (HasCalibration)
        {
            yield return (_design.Uncalibrated, "uncalibrated", "what a calibration takes, steps of " + CodeText.StepText(_design.Uncalibrated));
        }

        if (_design.Signal is { } signal)
        {
            yield return (signal, "signal", "what the sensor gives, steps of " + CodeText.StepText(signal));
        }

        if (_design.Shown is { } shown)
        {
            yield return (shown, "shown", "steps of the display, " + CodeText.StepText(shown));
        }

        if (_design.OutputCode is { } output)
        {
            yield return (output, "output_code", ArithmeticDesign.OutputStepsPerCode(_design.Law) == 1 ? "for the output converter, limits and failure applied"
                : FormattableString.Invariant($"for the output's trim, limits and failure applied, {OutputTrimDesign.StepsPerCode} steps in a code of the output converter"));
        }
    }

    private string Board()
    {
        Head("what the board supplies.");
        Line("#ifndef BOARD_H");
        Line("#define BOARD_H");
        Line();
        Line("#include <stdint.h>");
        Line();
        Line(FormattableString.Invariant($"/* One reading of the converter {CodeText.Comment(_design.Law.Converter.Name.Value)}, {CodeText.Number(_design.Code.Low)} to {CodeText.Number(_design.Code.High)}. Waits for it. */"));
        Line($"{CodeType(_design.Code)} board_read_converter(void);");
        if (_design.Temperature is { } temperature)
        {
            Line();
            Line($"/* Temperature {CodeText.Comment(temperature.Remark)}, 0.01 degrees Celsius. */");
            Line($"{CodeType(temperature)} board_read_temperature(void);");
        }

        if (_design.OutputCode is not null)
        {
            Line();
            Line($"/* Gives a code to the output converter {CodeText.Comment(_design.Law.OutputConverter!.Name.Value)}. */");
            Line($"void board_write_converter({_design.OutputWord!.Value.CType} code);");
        }

        if (SettingsLayout.Of(_design.Law.Instrument) is { Trouble: null })
        {
            Line();
            _file.Text.Append(SettingsCode.BoardFunctions);
        }

        if (PanelProgram.Of(_design.Law.Instrument) is { IsCodeKnown: true } panel)
        {
            Line();
            _file.Text.Append(InstrumentCode.BoardFunctions(panel.Panel));
        }

        Line();
        Line("#endif");
        return _file.ToString();
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
                Line($"#define ARITHMETIC_ZERO_LEAST ({CodeText.Literal(zero.Low, zero.Word)})");
                Line($"#define ARITHMETIC_ZERO_GREATEST ({CodeText.Literal(zero.High, zero.Word)})");
            }

            if (_design.Gain is { } gain)
            {
                Line($"#define ARITHMETIC_GAIN_LEAST ({CodeText.Literal(gain.Low, gain.Word)})");
                Line($"#define ARITHMETIC_GAIN_GREATEST ({CodeText.Literal(gain.High, gain.Word)})");
            }

            Line("struct arithmetic_calibration");
            Line("{");
            if (_design.Zero is { } z)
            {
                Line($"    {z.Word.CType} zero; /* {CodeText.Comment(z.Remark)}, steps of {CodeText.StepText(z)} */");
            }

            if (_design.Gain is { } g)
            {
                Line($"    {g.Word.CType} gain; /* {CodeText.Comment(g.Remark)}, steps of {CodeText.StepText(g)} */");
            }

            Line("};");
            Line();
        }

        Line("struct arithmetic_result");
        Line("{");
        foreach ((Node node, string field, string remark) in Results())
        {
            Line($"    {node.Word.CType} {field}; /* {remark} */");
        }

        Line("};");
        Line();
        Line("/* Takes the readings from the board and adds them up. */");
        Line($"{SumNode.Word.CType} arithmetic_collect(void);");
        Line();
        Line(SumNode == _design.Code
            ? "/* Computes everything from a reading."
            : "/* Computes everything from a sum of readings.");
        Line(FormattableString.Invariant($" * Rounding adds at most {_design.Measurand.Error.ToString("G3", CultureInfo.InvariantCulture)} {CodeText.Plain(Unit)} to the measurand."));
        Line(" * What is out of its range is held to it, so that nothing given here can overflow. */");
        Line("void arithmetic_evaluate(" + string.Join(", ", Parameters()) + ");");
        Line();
        Line("#endif");
        return _file.ToString();
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
        ProgramText program = new(Program, n => n == _design.Temperature || n == SumNode ? null : "calibration->" + n.Name);
        string body = program.Body(Results().Select(r => r.Node), SumNode);
        Head("from the converter's codes to measurand and output code.");
        Line("#include \"arithmetic.h\"");
        Line("#include \"board.h\"");
        Line();
        _file.Text.Append(program.Functions());
        Collect();
        Line("void arithmetic_evaluate(" + string.Join(", ", Parameters()) + ")");
        Line("{");
        _file.Text.Append(body);
        Line();
        foreach ((Node node, string field, _) in Results())
        {
            Line($"    result->{field} = {Name(node)};");
        }

        Line("}");
        return _file.ToString();
    }

    private void Collect()
    {
        Node code = _design.Code;
        Line($"{SumNode.Word.CType} arithmetic_collect(void)");
        Line("{");
        if (SumNode == code)
        {
            Line($"    {code.Word.CType} code = board_read_converter();");
            ProgramText.Hold(_file.Text, "    ", code, code.Low, code.High, "code");
            Line("    return code;");
        }
        else
        {
            Word wide = ProgramText.Computing(SumNode.Word);
            Line($"    {SumNode.Word.CType} sum = 0;");
            Line(SumNode.Constant <= 255 ? "    uint8_t i;" : SumNode.Constant <= 65535 ? "    uint16_t i;" : "    uint32_t i;");
            Line("    for (i = 0; i < ARITHMETIC_READINGS; i++)");
            Line("    {");
            Line($"        {code.Word.CType} code = board_read_converter();");
            ProgramText.Hold(_file.Text, "        ", code, code.Low, code.High, "code");
            Line($"        sum = ({SumNode.Word.CType})(({wide.CType})sum + ({wide.CType})code);");
            Line("    }");
            Line("    return sum;");
        }

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

        if (_design.OutputCode is not null)
        {
            Line();
            Line($"void board_write_converter({_design.OutputWord!.Value.CType} code)");
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
        return _file.ToString();
    }

    /// <summary>Inputs spread over the codes, the temperatures and the accepted calibrations, with what the model makes of them: measurand, shown, output code; the same ones every time.</summary>
    public static IEnumerable<(ArithmeticInputs Inputs, long[] Outputs)> TestVectors(ArithmeticDesign design, int count)
    {
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        RepeatedNumbers random = new(1);
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
            // One is drawn for what there is not, too: the other inputs stay as they are.
            if (node is null)
            {
                random.Next();
                return otherwise;
            }

            return random.Between(node.Low, node.High);
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
}
