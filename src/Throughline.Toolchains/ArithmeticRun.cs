using System.Collections.Immutable;
using System.Globalization;
using System.Text;
using Throughline.Firmware;

namespace Throughline.Toolchains;

/// <summary>What a simulated processor made of one set of inputs.</summary>
/// <param name="Outputs">Measurand, steps of the display, output code; 0 for what there is not.</param>
/// <param name="Cycles">Of the processor's clock for one evaluation; −1 when it took more than its counter holds.</param>
public sealed record SimulatedOutcome(ImmutableArray<long> Outputs, long Cycles);

/// <summary>Runs the generated arithmetic on a simulated processor.</summary>
internal static class ArithmeticRun
{
    /// <summary>Sets of inputs that fit the flash of every processor beside the code.</summary>
    public const int MostAtOnce = 800;

    /// <summary>The code's results and cycles for every set of inputs.</summary>
    /// <param name="folder">Where the files of the code are; files of this run are added to it.</param>
    /// <exception cref="InvalidOperationException">It does not compile, does not link or does not come to its end.</exception>
    public static IReadOnlyList<SimulatedOutcome> Run(Toolchain toolchain, string folder, ArithmeticDesign design, IReadOnlyList<ArithmeticInputs> inputs)
    {
        SimulatedProcessor processor = toolchain.Simulated ?? throw new ArgumentException("It has no simulated processor.", nameof(toolchain));
        List<SimulatedOutcome> outcomes = [];
        foreach (ArithmeticInputs[] part in inputs.Chunk(MostAtOnce))
        {
            File.WriteAllText(Path.Combine(folder, "run.c"), Program(processor, design, part));

            // The harness speaks to registers by their addresses; the strict dialect is for the code itself.
            (string? run, string said) = toolchain.Compile(folder, "run.c");
            (string? code, string further) = toolchain.Compile(folder, "arithmetic.c");
            if (run is null || code is null)
            {
                throw new InvalidOperationException(said + further);
            }

            (int linked, said) = Tool.Run(folder, toolchain.Command, [.. toolchain.Options, run, code, "-o", processor.ProgramName]);
            if (linked != 0)
            {
                throw new InvalidOperationException(said);
            }

            IReadOnlyList<uint[]> lines = processor.Run(folder);
            if (lines.Count != part.Length + 1)
            {
                throw new InvalidOperationException($"{lines.Count} lines came for {part.Length} sets of inputs.");
            }

            long nothing = lines[0][1];
            outcomes.AddRange(lines.Skip(1).Select(line => Read(design, line, nothing)));
        }

        return outcomes;
    }

    private static SimulatedOutcome Read(ArithmeticDesign design, uint[] line, long nothing)
    {
        ImmutableArray<long>.Builder outputs = ImmutableArray.CreateBuilder<long>(3);
        int at = 2;
        foreach (Node? node in new[] { design.Measurand, design.Shown, design.OutputCode })
        {
            if (node is null)
            {
                outputs.Add(0);
                continue;
            }

            ulong bits = line[at++];
            if (node.Word.Bits == 64)
            {
                bits = (bits << 32) | line[at++];
            }

            outputs.Add((long)node.Word.Wrap(bits));
        }

        return new SimulatedOutcome(outputs.ToImmutable(), line[0] == 0 ? line[1] - nothing : -1);
    }

    private static string Program(SimulatedProcessor processor, ArithmeticDesign design, ArithmeticInputs[] inputs)
    {
        StringBuilder text = new("#include <stdint.h>\n");
        text.Append(processor.Prelude.ReplaceLineEndings("\n"));
        text.Append("#include \"arithmetic.h\"\n#include \"board.h\"\n\n");
        Node[] kept = [.. new[] { design.Code, design.Temperature, design.Zero, design.Gain }.OfType<Node>()];
        text.Append("struct given\n{\n");
        foreach (Node node in kept)
        {
            text.Append(CultureInfo.InvariantCulture, $"    {node.Word.CType} {node.Name};\n");
        }

        text.Append("};\n\nstatic const struct given table[] STORED = {\n");
        foreach (ArithmeticInputs i in inputs)
        {
            List<string> numbers = [Literal(design.Code, i.Code)];
            foreach ((Node? node, long number) in new[] { (design.Temperature, i.Temperature), (design.Zero, i.Zero), (design.Gain, i.Gain) })
            {
                if (node is not null)
                {
                    numbers.Add(Literal(node, number));
                }
            }

            text.Append("    {").AppendJoin(", ", numbers).Append("},\n");
        }

        text.Append("};\n\n");
        text.Append(CultureInfo.InvariantCulture, $"static struct given given;\n\n{design.Code.Word.CType} board_read_converter(void)\n{{\n    return given.code;\n}}\n\n");
        if (design.Temperature is { } t)
        {
            text.Append(CultureInfo.InvariantCulture, $"{t.Word.CType} board_read_temperature(void)\n{{\n    return given.temperature;\n}}\n\n");
        }

        if (design.OutputWord is { } output)
        {
            text.Append(CultureInfo.InvariantCulture, $"void board_write_converter({output.CType} code)\n{{\n    (void)code;\n}}\n\n");
        }

        text.Append(SimulatedProcessor.Telling.ReplaceLineEndings("\n")).Append("\n\n");
        text.Append(
            """
            int main(void)
            {
                struct arithmetic_result result;

            """.ReplaceLineEndings("\n"));
        bool isCalibrated = design.Zero is not null || design.Gain is not null;
        if (isCalibrated)
        {
            text.Append("    struct arithmetic_calibration calibration;\n");
        }

        text.Append(CultureInfo.InvariantCulture, $"    {design.Sum.Word.CType} collected;\n    uint16_t i, from, to;\n    uint8_t wrapped;\n");
        text.Append(
            """
                begin();
                from = now();
                (void)has_wrapped();
                wrapped = has_wrapped();
                to = now();
                say("=");
                hex(0);
                hex((uint16_t)(to - from));
                put('\n');
                for (i = 0; i < sizeof table / sizeof table[0]; i++)
                {
                    take(&given, &table[i], sizeof given);

            """.ReplaceLineEndings("\n"));
        if (design.Zero is { } zero)
        {
            text.Append(CultureInfo.InvariantCulture, $"        calibration.zero = given.{zero.Name};\n");
        }

        if (design.Gain is { } gain)
        {
            text.Append(CultureInfo.InvariantCulture, $"        calibration.gain = given.{gain.Name};\n");
        }

        List<string> arguments = ["collected"];
        if (design.Temperature is not null)
        {
            arguments.Add("given.temperature");
        }

        if (isCalibrated)
        {
            arguments.Add("&calibration");
        }

        arguments.Add("&result");
        text.Append(CultureInfo.InvariantCulture,
            $"        collected = arithmetic_collect();\n        from = now();\n        (void)has_wrapped();\n        arithmetic_evaluate({string.Join(", ", arguments)});\n        wrapped = has_wrapped();\n        to = now();\n");

        // Once round is still a difference, unless the count has passed its start again. The marks are read inside of the times, so that going round between the two is never taken for it.
        text.Append("        say(\"=\");\n        hex(wrapped && to >= from);\n        hex((uint16_t)(to - from));\n");
        foreach ((Node? node, string name) in new[] { (design.Measurand, "measurand"), (design.Shown, "shown"), (design.OutputCode, "output_code") })
        {
            if (node is null)
            {
                continue;
            }

            if (node.Word.Bits == 64)
            {
                text.Append(CultureInfo.InvariantCulture, $"        hex((uint32_t)((uint64_t)result.{name} >> 32));\n");
            }

            text.Append(CultureInfo.InvariantCulture, $"        hex((uint32_t)result.{name});\n");
        }

        text.Append("        put('\\n');\n    }\n    say(\"end of run\\n\");\n    finish();\n    for (;;)\n    {\n    }\n}\n");
        return text.ToString();
    }

    private static string Literal(Node node, long number) => number.ToString(CultureInfo.InvariantCulture) + (node.Word.IsSigned ? "L" : "UL") + (node.Word.Bits == 64 ? "L" : "");
}
