using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>Parts of a batch on disk.</summary>
internal static class PartFile
{
    /// <summary>Writes a part, whole or not at all.</summary>
    public static bool TryWrite(string path, Batch batch, out string? trouble)
    {
        string beside = path + ".new";
        try
        {
            using (FileStream stream = new(beside, FileMode.Create, FileAccess.Write))
            {
                batch.Write(stream);
                stream.Flush(flushToDisk: true);
            }

            File.Move(beside, path, overwrite: true);
            trouble = null;
            return true;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException or ArgumentException)
        {
            trouble = e.Message;
            return false;
        }
    }

    public static bool TryRead(string path, Instrument instrument, out Batch? batch, out string? trouble)
    {
        batch = null;
        try
        {
            using FileStream stream = new(path, FileMode.Open, FileAccess.Read);
            batch = Batch.Read(instrument, stream);
            trouble = null;
            return true;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException or ArgumentException or InvalidDataException)
        {
            trouble = e.Message;
            return false;
        }
    }
}
