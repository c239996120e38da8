using System.Collections.Immutable;
using Throughline.Firmware;

namespace Throughline.Toolchains;

/// <summary>What one file of the code takes, bytes.</summary>
public sealed record BuiltFile(string Name, long Flash, long Ram);

/// <summary>What one compiler made of the code.</summary>
/// <param name="Processor">What it compiled for.</param>
/// <param name="Absent">Why there is nothing more to say; null when the compiler is there.</param>
/// <param name="Complaints">Lines that it said; empty when it had nothing to say.</param>
/// <param name="Routines">The compiler's own routines that the code calls; null when their size is not known.</param>
/// <param name="Cycles">Of the processor's clock, the most that one evaluation took over <paramref name="Runs"/> runs; null where nothing was run.</param>
/// <param name="Worst">The inputs that took the most.</param>
/// <param name="NoCycles">Why nothing was run; null where something was.</param>
public sealed record CompilerResult(
    string Compiler,
    string Processor,
    string? Absent,
    ImmutableArray<string> Complaints,
    ImmutableArray<BuiltFile> Files,
    BuiltFile? Routines,
    long? Cycles,
    int Runs,
    ArithmeticInputs? Worst,
    string? NoCycles)
{
    public long Flash => Files.Sum(f => f.Flash) + (Routines?.Flash ?? 0);

    public long Ram => Files.Sum(f => f.Ram) + (Routines?.Ram ?? 0);
}

/// <summary>Builds the generated code with every compiler that the machine has and runs the arithmetic on every simulated processor that it has.</summary>
public static class ProgramBuild
{
    private const int Spread = 80;

    /// <summary>What each compiler made of it, in a fixed order, those that are absent among them.</summary>
    /// <exception cref="ArgumentException">There is no code.</exception>
    public static ImmutableArray<CompilerResult> Of(FirmwareCode firmware)
    {
        if (firmware.Trouble is not null)
        {
            throw new ArgumentException("There is no code to build.", nameof(firmware));
        }

        return [.. Toolchain.All.Select(t => Of(t, firmware))];
    }

    /// <summary>Inputs at the corners of what the code accepts at the ends and in the middle of the converter's codes, and spread over all.</summary>
    internal static ImmutableArray<ArithmeticInputs> Runs(ArithmeticDesign design, int spread)
    {
        long low = (long)design.Code.Low;
        long high = (long)design.Code.High;
        return
        [
            .. new[] { low, low + 1, (low + high) / 2, high - 1, high }.SelectMany(design.Corners),
            .. ArithmeticCode.TestVectors(design, spread).Select(v => v.Inputs),
        ];
    }

    private static CompilerResult Of(Toolchain toolchain, FirmwareCode firmware)
    {
        CompilerResult none = new(toolchain.Command, toolchain.Processor, $"{toolchain.Command} is not on the PATH.", [], [], null, null, 0, null, null);
        if (!toolchain.IsPresent)
        {
            return none;
        }

        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            foreach (GeneratedFile file in firmware.Files)
            {
                File.WriteAllText(Path.Combine(folder, file.Name), file.Text);
            }

            List<string> complaints = [];
            List<string> objects = [];
            List<BuiltFile> files = [];
            foreach (GeneratedFile file in firmware.Files.Where(f => f.IsForTheBoard))
            {
                (string? made, string said) = toolchain.Compile(folder, file.Name);
                complaints.AddRange(said.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries));
                if (made is null)
                {
                    return none with { Absent = $"{file.Name} does not compile.", Complaints = [.. complaints] };
                }

                objects.Add(made);
                (long flash, long ram) = toolchain.SizeOf(Path.Combine(folder, made));
                files.Add(new BuiltFile(file.Name, flash, ram));
            }

            BuiltFile? routines = toolchain.Routines(folder, [.. objects]) is { } r ? new BuiltFile("the compiler's own routines", r.Flash, r.Ram) : null;
            CompilerResult built = none with { Absent = null, Complaints = [.. complaints], Files = [.. files], Routines = routines };
            return WithCycles(built, toolchain, folder, firmware.Design!);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static CompilerResult WithCycles(CompilerResult built, Toolchain toolchain, string folder, ArithmeticDesign design)
    {
        if (toolchain.Simulated is not { } processor)
        {
            return built with { NoCycles = "not simulated" };
        }

        if (!processor.IsPresent)
        {
            return built with { NoCycles = $"{processor.Simulator} is not on the PATH" };
        }

        ImmutableArray<ArithmeticInputs> inputs = Runs(design, Spread);
        IReadOnlyList<SimulatedOutcome> outcomes;
        try
        {
            outcomes = ArithmeticRun.Run(toolchain, folder, design, inputs);
        }
        catch (InvalidOperationException e)
        {
            return built with { NoCycles = e.Message.Split('\n')[0] };
        }

        if (outcomes.Any(o => o.Cycles < 0))
        {
            return built with { Runs = inputs.Length, NoCycles = "more than the counter holds" };
        }

        int worst = Enumerable.Range(0, inputs.Length).MaxBy(i => outcomes[i].Cycles);
        return built with { Cycles = outcomes[worst].Cycles, Runs = inputs.Length, Worst = inputs[worst] };
    }
}
