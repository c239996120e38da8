using System.Collections.Immutable;

namespace Throughline.Toolchains;

/// <summary>A compiler with the processor that it compiles for.</summary>
/// <param name="Command">Its name on the PATH.</param>
/// <param name="Processor">What it compiles for, in the trade's words.</param>
/// <param name="Options">For one file, every warning on.</param>
/// <param name="WritesAreas">Whether its object files are text with the sizes of areas; else they are ELF.</param>
/// <param name="CopiesConstants">Whether constants are copied into RAM at the start, flash being another address space.</param>
internal sealed record Toolchain(string Command, string Processor, ImmutableArray<string> Options, bool WritesAreas = false, bool CopiesConstants = false, SimulatedProcessor? Simulated = null)
{
    private static readonly ImmutableArray<string> Strict = ["-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Wpedantic", "-ffreestanding", "-fno-asynchronous-unwind-tables"];

    /// <summary>Every one known. Those of this machine show that the code is plain C; the others are of small controllers.</summary>
    public static readonly ImmutableArray<Toolchain> All =
    [
        new("gcc", "this machine", [.. Strict, "-Os"]),
        new("clang", "this machine", [.. Strict, "-Os"]),
        new("avr-gcc", "ATmega328P, 8 bit", [.. Strict, "-mmcu=atmega328p", "-Os"], CopiesConstants: true, Simulated: SimulatedProcessor.Atmega),
        new("sdcc", "STM8, 8 bit", ["-mstm8", "--std-c99", "--opt-code-size"], WritesAreas: true, Simulated: SimulatedProcessor.Stm8),
        new("sdcc", "8051, 8 bit", ["-mmcs51", "--model-large", "--std-c99", "--opt-code-size"], WritesAreas: true),
    ];

    public bool IsPresent => Tool.Find(Command) is not null;

    private string ObjectName(string source) => Path.ChangeExtension(source, WritesAreas ? ".rel" : ".o");

    /// <summary>Compiles one file of a folder.</summary>
    /// <returns>The object file's name, null where it did not compile; and every line that the compiler said.</returns>
    public (string? Object, string Said) Compile(string folder, string source, params string[] further)
    {
        string made = ObjectName(source);
        (int code, string said) = Tool.Run(folder, Command, [.. Options, .. further, "-c", source, "-o", made]);
        return (code == 0 ? made : null, said.Trim());
    }

    /// <summary>Flash and RAM that the contents of an object file take, bytes.</summary>
    public (long Flash, long Ram) SizeOf(string path)
    {
        if (WritesAreas)
        {
            return Sizes(AreaSizes.OfObject(File.ReadAllText(path)));
        }

        long flash = 0;
        long ram = 0;
        foreach (ElfSection section in ElfFile.Sections(File.ReadAllBytes(path)))
        {
            flash += section.IsStored ? section.Bytes : 0;
            bool isCopied = CopiesConstants && section.Name.StartsWith(".rodata", StringComparison.Ordinal);
            ram += section.IsWritable || isCopied ? section.Bytes : 0;
        }

        return (flash, ram);
    }

    /// <summary>What the compiler's own routines take that the object files call, such as its division of 32-bit numbers; null where that cannot be found.</summary>
    public (long Flash, long Ram)? Routines(string folder, ImmutableArray<string> objects)
    {
        if (WritesAreas)
        {
            // What the board supplies is missing; the linker says so and lays out the rest.
            File.WriteAllText(Path.Combine(folder, "nothing.c"), "void main(void)\n{\n}\n");
            if (Compile(folder, "nothing.c").Object is not { } nothing || Linked("without.ihx", [nothing]) is not { } without || Linked("with.ihx", [nothing, .. objects]) is not { } with)
            {
                return null;
            }

            (long Flash, long Ram) own = Total(objects.Select(o => SizeOf(Path.Combine(folder, o))));
            return (Math.Max(0, with.Flash - without.Flash - own.Flash), Math.Max(0, with.Ram - without.Ram - own.Ram));
        }

        const string Whole = "whole.o";
        if (Tool.Run(folder, Command, [.. Options, "-r", "-nostdlib", .. objects, "-lgcc", "-o", Whole]).Code != 0)
        {
            return null;
        }

        (long Flash, long Ram) whole = SizeOf(Path.Combine(folder, Whole));
        (long Flash, long Ram) parts = Total(objects.Select(o => SizeOf(Path.Combine(folder, o))));
        return (Math.Max(0, whole.Flash - parts.Flash), Math.Max(0, whole.Ram - parts.Ram));

        (long Flash, long Ram)? Linked(string name, ImmutableArray<string> of)
        {
            Tool.Run(folder, Command, [.. Options, .. of, "-o", name]);
            string map = Path.Combine(folder, Path.ChangeExtension(name, ".map"));
            return File.Exists(map) ? Sizes(AreaSizes.OfMap(File.ReadAllText(map))) : null;
        }
    }

    private static (long Flash, long Ram) Total(IEnumerable<(long Flash, long Ram)> sizes) => sizes.Aggregate((0L, 0L), (sum, s) => (sum.Item1 + s.Flash, sum.Item2 + s.Ram));

    private static (long Flash, long Ram) Sizes(Dictionary<string, long> areas)
    {
        long flash = 0;
        long ram = 0;
        foreach ((string area, long bytes) in areas)
        {
            if (area is "CODE" or "CSEG" or "CONST" or "HOME" or "INITIALIZER" or "XINIT" || area.StartsWith("GS", StringComparison.Ordinal))
            {
                flash += bytes;
            }
            else if (area is "DATA" or "INITIALIZED" or "BSS" or "DSEG" or "ISEG" or "OSEG" or "PSEG" or "XSEG" or "XISEG")
            {
                ram += bytes;
            }
        }

        return (flash, ram);
    }
}
