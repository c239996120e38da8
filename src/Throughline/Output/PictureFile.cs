using System.Text;

namespace Throughline.Output;

/// <summary>A drawing in a file of its own.</summary>
internal static class PictureFile
{
    /// <summary>Writes it whole or not at all; returns what is in the way.</summary>
    public static string? TryWrite(string path, string picture)
    {
        string beside = path + ".new";
        try
        {
            File.WriteAllBytes(beside, Encoding.UTF8.GetBytes(picture));
            File.Move(beside, path, overwrite: true);
            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            if (File.Exists(beside))
            {
                File.Delete(beside);
            }

            return $"{path} cannot be written: {e.Message}";
        }
    }
}
