using Throughline.Testing;

namespace Throughline.Workbench.Tests;

/// <summary>A copy of the demos in a folder of its own, gone when disposed.</summary>
public sealed class DemoFolder : IDisposable
{
    private readonly DirectoryInfo _outer = Directory.CreateTempSubdirectory("throughline-workbench-");

    public DemoFolder()
    {
        Path = _outer.CreateSubdirectory("demo").FullName;
        string demo = Repository.PathOf("demo");
        foreach (string file in Directory.EnumerateFiles(demo, "*.yaml", SearchOption.AllDirectories))
        {
            string to = System.IO.Path.Combine(Path, System.IO.Path.GetRelativePath(demo, file));
            Directory.CreateDirectory(System.IO.Path.GetDirectoryName(to)!);
            File.Copy(file, to);
        }
    }

    /// <summary>The copy.</summary>
    public string Path { get; }

    /// <summary>The folder around it, which the workbench must not reach.</summary>
    public string Outer => _outer.FullName;

    /// <summary>The full path of a file of it.</summary>
    public string PathOf(string name) => System.IO.Path.Combine(Path, name);

    public void Dispose() => _outer.Delete(recursive: true);
}
