using System.Collections.Immutable;
using System.Reflection.Metadata;
using System.Reflection.PortableExecutable;
using Xunit;

namespace Throughline.Architecture;

/// <summary>Holds the direction of dependencies: the table of docs/architecture.md, read from the assemblies as compiled.</summary>
public sealed class ReferenceTests
{
    /// <summary>What each assembly may refer to, directly, of ours and of others'. A new project or package is one line here, written on purpose.</summary>
    private static readonly ImmutableDictionary<string, ImmutableArray<string>> Allowed = new Dictionary<string, ImmutableArray<string>>
    {
        ["Throughline.Circuits"] = [],
        ["Throughline.Instruments"] = ["YamlDotNet"],
        ["Throughline.Analysis"] = ["Throughline.Circuits", "Throughline.Instruments"],
        ["Throughline.Firmware"] = ["Throughline.Circuits", "Throughline.Instruments", "Throughline.Analysis"],
        ["Throughline.Toolchains"] = ["Throughline.Circuits", "Throughline.Instruments", "Throughline.Analysis", "Throughline.Firmware"],
        ["Throughline.Papers"] = ["Throughline.Circuits", "Throughline.Instruments", "Throughline.Analysis", "Throughline.Firmware"],
        ["Throughline.Workbench"] = ["Throughline.Circuits", "Throughline.Instruments", "Throughline.Analysis", "Throughline.Firmware", "Throughline.Papers", "OxyPlot"],
        ["throughline"] = ["Throughline.Circuits", "Throughline.Instruments", "Throughline.Analysis", "Throughline.Firmware", "Throughline.Toolchains", "Throughline.Papers", "Throughline.Workbench", "System.CommandLine"],
    }.ToImmutableDictionary();

    public static TheoryData<string> Assemblies => [.. Allowed.Keys.Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Assemblies))]
    public void Assembly_RefersTo_OnlyWhatIsBelowIt(string assembly)
    {
        using Metadata metadata = Metadata.Of(assembly);
        IEnumerable<string> ours = metadata.References.Where(name => !IsFramework(name));
        Assert.Empty(ours.Except(Allowed[assembly]));
    }

    [Fact]
    public void EveryProjectOfTheSources_IsInTheTable()
    {
        string[] projects = [.. Directory.EnumerateFiles(Testing.Repository.PathOf("src"), "*.csproj", SearchOption.AllDirectories)
            .Select(path => Path.GetFileNameWithoutExtension(path)!)
            .Select(name => name == "Throughline" ? "throughline" : name)
            .Order(StringComparer.Ordinal)];
        Assert.NotEmpty(projects);
        Assert.Equal(projects, Allowed.Keys.Order(StringComparer.Ordinal));
    }

    // The engine computes and does nothing else: no files, no console, no clock, no processes, no network, no text formats.
    [Theory]
    [InlineData("Throughline.Circuits")]
    [InlineData("Throughline.Analysis")]
    [InlineData("Throughline.Firmware")]
    public void Engine_UsesNoSurroundings(string assembly)
    {
        using Metadata metadata = Metadata.Of(assembly);
        string[] forbidden =
        [
            "System.IO.File", "System.IO.Directory", "System.IO.FileInfo", "System.IO.DirectoryInfo", "System.IO.FileStream", "System.IO.Path",
            "System.Console", "System.Environment", "System.Diagnostics.Process", "System.Diagnostics.Stopwatch", "System.TimeProvider",
            "System.DateTime", "System.Random",
        ];
        Assert.NotEmpty(metadata.Members);
        // The compiler itself asks for the thread in every iterator that it makes.
        Assert.DoesNotContain(metadata.Members, member => forbidden.Contains(member.Type) && member.Name != "get_CurrentManagedThreadId");
        Assert.DoesNotContain(metadata.TypeReferences, name => name.StartsWith("System.Net.", StringComparison.Ordinal)
            || name.StartsWith("System.Text.Json.", StringComparison.Ordinal) || name.StartsWith("YamlDotNet.", StringComparison.Ordinal));
    }

    // Only the outer edge writes to a console.
    [Theory]
    [InlineData("Throughline.Instruments")]
    public void Reader_WritesToNoConsole(string assembly)
    {
        using Metadata metadata = Metadata.Of(assembly);
        Assert.DoesNotContain("System.Console", metadata.TypeReferences);
    }

    private static bool IsFramework(string name) =>
        (name.StartsWith("System", StringComparison.Ordinal) && name != "System.CommandLine") || name.StartsWith("Microsoft.AspNetCore", StringComparison.Ordinal) || name.StartsWith("Microsoft.Net.Http.", StringComparison.Ordinal)
        || name.StartsWith("Microsoft.Extensions.", StringComparison.Ordinal) || name is "Microsoft.JSInterop" or "Microsoft.Win32.Primitives" or "netstandard" or "mscorlib";

    /// <summary>The names in an assembly's metadata.</summary>
    private sealed class Metadata : IDisposable
    {
        private readonly PEReader _file;

        private Metadata(string path)
        {
            _file = new PEReader(File.OpenRead(path));
            MetadataReader reader = _file.GetMetadataReader();
            References = [.. reader.AssemblyReferences.Select(handle => reader.GetString(reader.GetAssemblyReference(handle).Name))];
            TypeReferences = [.. reader.TypeReferences.Select(handle => reader.GetTypeReference(handle))
                .Select(type => reader.GetString(type.Namespace) + "." + reader.GetString(type.Name))];
            Members = [.. reader.MemberReferences.Select(handle => reader.GetMemberReference(handle))
                .Where(member => member.Parent.Kind == HandleKind.TypeReference)
                .Select(member => (reader.GetTypeReference((TypeReferenceHandle)member.Parent), Name: reader.GetString(member.Name)))
                .Select(pair => (reader.GetString(pair.Item1.Namespace) + "." + reader.GetString(pair.Item1.Name), pair.Name))];
        }

        /// <summary>Every method and field of another assembly that is used, with the type that has it.</summary>
        public ImmutableHashSet<(string Type, string Name)> Members { get; }

        public ImmutableArray<string> References { get; }

        public ImmutableHashSet<string> TypeReferences { get; }

        public static Metadata Of(string assembly) => new(Path.Combine(AppContext.BaseDirectory, assembly + ".dll"));

        public void Dispose() => _file.Dispose();
    }
}
