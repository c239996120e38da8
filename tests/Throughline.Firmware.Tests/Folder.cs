namespace Throughline.Firmware.Tests;

/// <summary>Generated files in a folder of their own, gone afterwards.</summary>
internal sealed class Folder : IDisposable
{
    public Folder(IEnumerable<GeneratedFile> files)
    {
        foreach (GeneratedFile file in files)
        {
            File.WriteAllText(System.IO.Path.Combine(Path, file.Name), file.Text);
        }
    }

    public string Path { get; } = Directory.CreateTempSubdirectory("throughline-").FullName;

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
