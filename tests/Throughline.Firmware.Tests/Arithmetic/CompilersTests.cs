using System.Collections.Immutable;
using Throughline.Instruments;
using Throughline.Toolchains;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>The code under every compiler, each warning an error, and on simulated 8-bit processors against the model, number for number. A compiler that is missing is an error.</summary>
public sealed class CompilersTests
{
    private static readonly string[] Strict = ["-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Wpedantic", "-Werror"];

    /// <summary>
    /// The last one stands for the whole family: the STM8 keeps its variables on the stack and has every 64-bit routine, so that no file needs a restriction. The 8051 gives each function fixed
    /// places and lacks most of 64 bits; there everything of up to 32 bits is compiled.
    /// </summary>
    private static readonly (string Compiler, string[] Options)[] Compilers =
    [
        ("gcc", [.. Strict, "-O2"]),
        ("gcc", [.. Strict, "-ffreestanding", "-Os"]),
        ("clang", [.. Strict, "-O2"]),
        ("clang", [.. Strict, "-ffreestanding", "-Os"]),
        ("avr-gcc", [.. Strict, "-mmcu=atmega328p", "-Os"]),
        ("sdcc", ["-mstm8", "--std-c99", "--Werror"]),
        ("sdcc", ["-mmcs51", "--model-large", "--std-c99", "--Werror"]),
    ];

    /// <summary>Every file of every demo, whatever the code comes to consist of.</summary>
    public static TheoryData<string, string> Files
    {
        get
        {
            TheoryData<string, string> data = [];
            foreach (string demo in Sketches.Demos)
            {
                foreach (GeneratedFile file in FirmwareCode.Of(Sketches.Demo(demo)).Files.Where(f => f.Name.EndsWith(".c", StringComparison.Ordinal)))
                {
                    data.Add(demo, file.Name);
                }
            }

            return data;
        }
    }

    [Theory]
    [MemberData(nameof(Files))]
    public void File_UnderEveryCompiler_GivesNoWarning(string demo, string name)
    {
        ImmutableArray<GeneratedFile> files = FirmwareCode.Of(Sketches.Demo(demo)).Files;
        GeneratedFile file = files.Single(f => f.Name == name);
        using Folder folder = new(files);
        foreach ((string compiler, string[] options) in Compilers)
        {
            // A test for the host has a main with printf.
            if (!file.IsForTheBoard && (compiler is "avr-gcc" or "sdcc" || options.Contains("-ffreestanding")))
            {
                continue;
            }

            (int code, string said) = Tool.Run(folder.Path, compiler, [.. options, "-c", name, "-o", compiler == "sdcc" ? "made.rel" : "made.o"]);
            Assert.True(code == 0 && said.Trim().Length == 0, $"{compiler} {string.Join(' ', options)} {name}:\n{said}");
        }
    }

    [Theory]
    [InlineData("nutrient-ph", "avr-gcc", 2_000)]
    [InlineData("nutrient-ph", "sdcc", 400)]
    [InlineData("cold-store-pt100", "avr-gcc", 2_000)]
    [InlineData("cold-store-pt100", "sdcc", 400)]
    [InlineData("hopper-bridge", "avr-gcc", 2_000)]
    [InlineData("hopper-bridge", "sdcc", 400)]
    [InlineData("platinum", "avr-gcc", 2_000)]
    [InlineData("couple", "avr-gcc", 1_000)]
    [InlineData("couple", "sdcc", 50)]
    public void Arithmetic_OnASimulatedProcessor_IsTheModel(string name, string compiler, int spread)
    {
        ArithmeticDesign design = ArithmeticDesign.Of(Sketches.Named(name))!;
        ImmutableArray<ArithmeticInputs> inputs = ProgramBuild.Runs(design, spread);
        using Folder folder = new(ArithmeticCode.Write(design));
        Toolchain toolchain = Toolchain.All.Single(t => t.Command == compiler && t.Simulated is not null);
        IReadOnlyList<SimulatedOutcome> outcomes = ArithmeticRun.Run(toolchain, folder.Path, design, inputs);
        Assert.Equal(inputs.Length, outcomes.Count);
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        for (int i = 0; i < inputs.Length; i++)
        {
            long[] wanted = ArithmeticCode.Outputs(design, inputs[i], numbers);
            Assert.True(outcomes[i].Outputs.SequenceEqual(wanted), $"{inputs[i]}: {string.Join(' ', outcomes[i].Outputs)} for {string.Join(' ', wanted)}");

            // A call alone takes more than ten cycles on either.
            Assert.True(outcomes[i].Cycles is -1 or > 10, $"{outcomes[i].Cycles} cycles");
        }

        Assert.Contains(outcomes, o => o.Cycles > 0);
    }

    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    public void Build_OfADemo_FitsASmallController(string demo)
    {
        ImmutableArray<CompilerResult> results = ProgramBuild.Of(FirmwareCode.Of(Sketches.Demo(demo)));
        Assert.Equal(Toolchain.All.Length, results.Length);
        Assert.All(results, r =>
        {
            Assert.Null(r.Absent);
            Assert.Empty(r.Complaints);
            Assert.NotNull(r.Routines);

            // An ATmega328P has 32 KiB of flash and 2 KiB of RAM, a small STM8 as much flash.
            Assert.InRange(r.Flash, 300, 32_768);
            Assert.InRange(r.Ram, 0, 2_048);
        });
        Assert.Equal(2, results.Count(r => r.Cycles is > 500 and < 65_536 && r.Worst is not null && r.Runs > 90));
    }

    // binutils is a second reader of the same files: its size command sums text, data and bss.
    [Fact]
    public void SizeOf_AnAvrObject_IsWhatBinutilsSays()
    {
        FirmwareCode firmware = FirmwareCode.Of(Sketches.Demo("cold-store-pt100"));
        using Folder folder = new(firmware.Files);
        Toolchain avr = Toolchain.All.Single(t => t.Command == "avr-gcc");
        string made = avr.Compile(folder.Path, "arithmetic.c").Object!;
        (int code, string said) = Tool.Run(folder.Path, "avr-size", [made]);
        Assert.Equal(0, code);
        long[] sizes = [.. said.Split('\n')[1].Split((char[])[' ', '\t'], StringSplitOptions.RemoveEmptyEntries).Take(3).Select(long.Parse)];
        (long flash, long ram) = avr.SizeOf(Path.Combine(folder.Path, made));
        Assert.Equal(sizes[0] + sizes[1], flash);
        Assert.Equal(sizes[1] + sizes[2], ram);
    }

    // GCC for this processor copies read-only data into RAM when the program starts, unless a table is placed in flash: avr-libc's manual, "Data in Program Space".
    [Fact]
    public void SizeOf_ConstantsThatAreNotPlacedInFlash_CountsThemTwice()
    {
        using Folder folder = new([new GeneratedFile("table.c", "#include <stdint.h>\nextern const uint16_t table[50];\nconst uint16_t table[50] = {1};\n", "")]);
        Toolchain avr = Toolchain.All.Single(t => t.Command == "avr-gcc");
        (long flash, long ram) = avr.SizeOf(Path.Combine(folder.Path, avr.Compile(folder.Path, "table.c").Object!));
        Assert.Equal(100, flash);
        Assert.Equal(100, ram);
    }

    [Fact]
    public void Sections_OfBytesThatAreNoObjectFile_AreNone()
    {
        Assert.Empty(ElfFile.Sections([]));
        Assert.Empty(ElfFile.Sections(new byte[64]));
        byte[] cut = [0x7f, (byte)'E', (byte)'L', (byte)'F', 1, 1, .. new byte[60]];
        cut[32] = 200;
        cut[46] = 40;
        cut[48] = 9;
        Assert.Empty(ElfFile.Sections(cut));
    }
}
