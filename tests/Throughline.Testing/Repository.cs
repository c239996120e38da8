namespace Throughline.Testing;

/// <summary>Finds the files of the working copy that the tests run in.</summary>
public static class Repository
{
    /// <summary>The folder that holds the solution.</summary>
    public static string Root { get; } = FindRoot();

    /// <summary>A path below the root.</summary>
    public static string PathOf(params string[] parts) => Path.Combine([Root, .. parts]);

    private static string FindRoot()
    {
        for (DirectoryInfo? folder = new(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "Throughline.slnx")))
            {
                return folder.FullName;
            }
        }

        throw new InvalidOperationException("The tests run outside the working copy: no folder above " + AppContext.BaseDirectory + " holds the solution.");
    }
}
