using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>Writes the trim of the output as C99, under the same restrictions as the arithmetic. It is <see cref="OutputTrimDesign"/>, number for number.</summary>
public sealed class OutputTrimCode
{
    private const int Vectors = 200;

    private readonly OutputTrimDesign _design;
    private CodeFile _file = null!;

    private OutputTrimCode(OutputTrimDesign design) => _design = design;

    /// <summary>The files of a trim whose every number fits its word and whose divisor is never zero.</summary>
    /// <exception cref="ArgumentException">It overflows or divides by zero.</exception>
    public static ImmutableArray<GeneratedFile> Write(OutputTrimDesign design)
    {
        if (!OutputTrimProof.Of(design).IsSound)
        {
            throw new ArgumentException("Code is written of a proved trim only.", nameof(design));
        }

        return
        [
            new GeneratedFile("output_trim.h", new OutputTrimCode(design).Header(), $"the trim of the output at two {design.Signal.Noun}s"),
            new GeneratedFile("output_trim.c", new OutputTrimCode(design).Source(), "the trim of the output"),
            new GeneratedFile("output_trim_test.c", new OutputTrimCode(design).HostTest(), "a test for the host, with vectors"),
        ];
    }

    private Word CodeWord => _design.Given.Word;

    private void Line(string line = "") => _file.Line(line);

    private void Line(FormattableString line) => _file.Line(line);

    private void Head(string what) => _file = new CodeFile(_design.Law.Instrument, what);

    private static string Entered(Int128 value) => CodeText.Literal(value, new Word(32, true));

    private string Header()
    {
        Head($"the trim of the output at two {_design.Signal.Noun}s.");
        Line("#ifndef OUTPUT_TRIM_H");
        Line("#define OUTPUT_TRIM_H");
        Line();
        Line("#include <stdint.h>");
        Line();
        Line($"/* Codes that are given, untrimmed, while {_design.Signal.Meter} is read. */");
        Line($"#define OUTPUT_TRIM_LOW_CODE {CodeText.Literal(_design.LowCode, CodeWord)}");
        Line($"#define OUTPUT_TRIM_HIGH_CODE {CodeText.Literal(_design.HighCode, CodeWord)}");
        Line();
        Line("/* Steps in a code of the output converter. */");
        Line($"#define OUTPUT_TRIM_STEPS {OutputTrimDesign.StepsPerCode}U");
        Line();
        Line($"/* What is accepted of the meter, steps of {CodeText.StepText(_design.ShownLow)}. */");
        Line($"#define OUTPUT_TRIM_LEAST_LOW {Entered(_design.ShownLow.Low)}");
        Line($"#define OUTPUT_TRIM_GREATEST_LOW {Entered(_design.ShownLow.High)}");
        Line($"#define OUTPUT_TRIM_LEAST_HIGH {Entered(_design.ShownHigh.Low)}");
        Line($"#define OUTPUT_TRIM_GREATEST_HIGH {Entered(_design.ShownHigh.High)}");
        Line();
        Line("/* What a trim keeps. All zero is a unit that was never trimmed. */");
        Line("struct output_trim");
        Line("{");
        Line($"    {_design.Offset.Word.CType} offset; /* {CodeText.Comment(_design.Offset.Remark)}, steps of {CodeText.StepText(_design.Offset)} of a code */");
        Line($"    {_design.Gain.Word.CType} gain; /* {CodeText.Comment(_design.Gain.Remark)}, steps of {CodeText.StepText(_design.Gain)} */");
        Line("};");
        Line();
        Line("/* Works out the trim from what the meter showed at the two codes. 1 when both are accepted; else nothing changes. */");
        Line("uint8_t output_trim_fit(struct output_trim *trim, int32_t low, int32_t high);");
        Line();
        Line("/* What the converter is given for what is asked for, in steps as above. What is out of its range is held to it, so that nothing given here can overflow.");
        Line(FormattableString.Invariant($" * The whole numbers add at most {_design.Bound:G2} of a code to the half that any code has. */"));
        Line($"{CodeWord.CType} output_trim_code(const struct output_trim *trim, {_design.Steps.Word.CType} asked);");
        Line();
        Line("#endif");
        return _file.ToString();
    }

    private string Source()
    {
        ProgramText program = new(_design.Program, n =>
            n == _design.ShownLow ? $"({n.Word.CType})low" : n == _design.ShownHigh ? $"({n.Word.CType})high" : n == _design.Steps ? "asked" : "trim->" + n.Name);
        string fit = program.Body([_design.FoundOffset, _design.FoundGain]);
        string use = program.Body([_design.Given]);
        Head($"the trim of the output at two {_design.Signal.Noun}s.");
        Line("#include \"output_trim.h\"");
        Line();
        _file.Text.Append(program.Functions());
        Line("uint8_t output_trim_fit(struct output_trim *trim, int32_t low, int32_t high)");
        Line("{");
        Line("    if ((low < OUTPUT_TRIM_LEAST_LOW) || (low > OUTPUT_TRIM_GREATEST_LOW) || (high < OUTPUT_TRIM_LEAST_HIGH) || (high > OUTPUT_TRIM_GREATEST_HIGH))");
        Line("    {");
        Line("        return 0U;");
        Line("    }");
        _file.Text.Append(fit);
        Line($"    trim->offset = {Cast(_design.FoundOffset, _design.Offset)}{_design.FoundOffset.Name};");
        Line($"    trim->gain = {Cast(_design.FoundGain, _design.Gain)}{_design.FoundGain.Name};");
        Line("    return 1U;");
        Line("}");
        Line();
        Line($"{CodeWord.CType} output_trim_code(const struct output_trim *trim, {_design.Steps.Word.CType} asked)");
        Line("{");
        _file.Text.Append(use);
        Line($"    return {_design.Given.Name};");
        Line("}");
        return _file.ToString();
    }

    private static string Cast(Node from, Node to) => from.Word == to.Word ? "" : $"({to.Word.CType})";

    private string HostTest()
    {
        Head("a test for the host. Compile it with output_trim.c; it ends with 0 when every vector agrees.");
        Line("#include <inttypes.h>");
        Line("#include <stdio.h>");
        Line("#include <string.h>");
        Line();
        Line("#include \"output_trim.h\"");
        Line();
        Line($"/* Entered at the two {_design.Signal.Noun}s, and asked for; accepted, kept offset and gain, and given. */");
        Line("struct vector");
        Line("{");
        Line("    int32_t low, high, asked;");
        Line("    int32_t found[4];");
        Line("};");
        Line();
        Line("static const struct vector vectors[] = {");
        foreach ((long low, long high, long asked) in TestVectors())
        {
            Line($"    {{{low}, {high}, {asked}, {{{string.Join(", ", Numbers(_design, low, high, asked))}}}}},");
        }

        Line("};");
        Line();
        Line("static void run(const struct vector *given, int32_t *found)");
        Line("{");
        Line("    struct output_trim trim;");
        Line("    memset(&trim, 0, sizeof trim);");
        Line("    found[0] = output_trim_fit(&trim, given->low, given->high);");
        Line("    found[1] = (int32_t)trim.offset;");
        Line("    found[2] = (int32_t)trim.gain;");
        Line($"    found[3] = (int32_t)output_trim_code(&trim, ({_design.Steps.Word.CType})given->asked);");
        Line("}");
        Line();
        Line($"/* With the argument -, every line of the input holds what is entered at both {_design.Signal.Noun}s and what is asked for; the results come out line by line. */");
        Line("int main(int count, char **words)");
        Line("{");
        Line("    struct vector given;");
        Line("    int32_t found[4];");
        Line("    unsigned failed = 0;");
        Line("    size_t i;");
        Line("    memset(&given, 0, sizeof given);");
        Line("    if (count > 1 && strcmp(words[1], \"-\") == 0)");
        Line("    {");
        Line("        while (scanf(\"%\" SCNd32 \" %\" SCNd32 \" %\" SCNd32, &given.low, &given.high, &given.asked) == 3)");
        Line("        {");
        Line("            run(&given, found);");
        Line("            printf(\"%\" PRId32 \" %\" PRId32 \" %\" PRId32 \" %\" PRId32 \"\\n\", found[0], found[1], found[2], found[3]);");
        Line("        }");
        Line("        return 0;");
        Line("    }");
        Line("    for (i = 0; i < sizeof vectors / sizeof vectors[0]; i++)");
        Line("    {");
        Line("        run(&vectors[i], found);");
        Line("        if (memcmp(found, vectors[i].found, sizeof found) != 0)");
        Line("        {");
        Line("            failed++;");
        Line("            printf(\"vector %u: accepted %\" PRId32 \", offset %\" PRId32 \", gain %\" PRId32 \", code %\" PRId32 \"\\n\", (unsigned)i, found[0], found[1], found[2], found[3]);");
        Line("        }");
        Line("    }");
        Line("    printf(\"%u vectors, %u failed\\n\", (unsigned)(sizeof vectors / sizeof vectors[0]), failed);");
        Line("    return failed == 0 ? 0 : 1;");
        Line("}");
        return _file.ToString();
    }

    /// <summary>Entries of which some are refused, and codes over the whole converter; the same ones every time.</summary>
    private IEnumerable<(long Low, long High, long Asked)> TestVectors()
    {
        RepeatedNumbers numbers = new(1);
        for (int i = 0; i < Vectors; i++)
        {
            yield return (Around(_design.ShownLow), Around(_design.ShownHigh), numbers.Between(_design.Steps.Low, _design.Steps.High));
        }

        long Around(Node node)
        {
            long reach = (long)(node.High - node.Low) / 16;
            return numbers.Between(node.Low - reach, node.High + reach);
        }
    }

    /// <summary>A run as the test of the host shows it: accepted, kept offset and gain, and what is given.</summary>
    public static long[] Numbers(OutputTrimDesign design, long low, long high, long asked)
    {
        bool isAccepted = design.IsAccepted(low, high);
        (long offset, long gain) = isAccepted ? design.Fit(low, high) : (0, 0);
        return [isAccepted ? 1 : 0, offset, gain, design.CodeOf(asked, offset, gain)];
    }
}
