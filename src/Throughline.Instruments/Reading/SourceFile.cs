using System.Text;

namespace Throughline.Instruments;

/// <summary>Reads a file's text, or says why it can't be read.</summary>
internal static class SourceFile
{
    /// <summary>Far more than any instrument needs. A larger file is not read at all.</summary>
    public const int MostBytes = 1 << 20;

    private const string SizeLimit = "a file of at most 1 MiB";

    /// <param name="path">Where it is.</param>
    /// <param name="name">How it is called in messages.</param>
    public static SourceText? Read(string path, string name, DiagnosticSink sink)
    {
        SourceText nothing = new(name, "");
        SourceSpan whole = new(nothing, 0, 0);
        byte[] bytes;
        try
        {
            if (Directory.Exists(path))
            {
                sink.Report(Codes.FileIsFolder, whole, "This is a folder.", "an instrument file", "a folder", "name the file in it");
                return null;
            }

            using FileStream stream = File.OpenRead(path);

            // A device or a pipe has no length: what it gives is counted while it is read.
            long size = stream.CanSeek ? stream.Length : MostBytes;
            if (size > MostBytes)
            {
                sink.Report(Codes.FileTooLarge, whole, "The file is too large for an instrument file.", SizeLimit, FoundSize(stream));
                return null;
            }

            bytes = new byte[(size > 0 ? size : MostBytes) + 1];
            int length = 0;
            int read;
            while ((read = stream.Read(bytes, length, bytes.Length - length)) > 0)
            {
                length += read;
                if (length > MostBytes)
                {
                    break;
                }

                // The file has grown since its length was asked for.
                if (length == bytes.Length)
                {
                    Array.Resize(ref bytes, MostBytes + 1);
                }
            }

            if (length > MostBytes)
            {
                sink.Report(Codes.FileTooLarge, whole, "The file is too large for an instrument file.", SizeLimit, FoundSize(stream));
                return null;
            }

            Array.Resize(ref bytes, length);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            sink.Report(Codes.FileMissing, whole, "There is no such file.", "an instrument file", "nothing", NearestFile(path));
            return null;
        }
        catch (UnauthorizedAccessException)
        {
            sink.Report(Codes.FileRefused, whole, "The file may not be read.", "a file that you may read", "a file without permission");
            return null;
        }
        catch (Exception e) when (e is IOException or ArgumentException or NotSupportedException)
        {
            sink.Report(Codes.FileRefused, whole, "The file can't be read.", "a file that can be read", e is IOException ? "a failure of the disk or the system" : "no name of a file");
            return null;
        }

        return Decode(bytes, name, sink);
    }

    /// <summary>Decodes UTF-8, with or without its byte order mark.</summary>
    public static SourceText? Decode(ReadOnlySpan<byte> bytes, string name, DiagnosticSink sink)
    {
        if (bytes.StartsWith(Encoding.UTF8.Preamble))
        {
            bytes = bytes[Encoding.UTF8.Preamble.Length..];
        }

        int good = GoodLength(bytes);
        if (good == bytes.Length)
        {
            return new SourceText(name, Encoding.UTF8.GetString(bytes));
        }

        // What came before the first bad byte gives its line and column.
        SourceText before = new(name, Encoding.UTF8.GetString(bytes[..good]));
        bool utf16 = bytes is [0xFF, 0xFE, ..] or [0xFE, 0xFF, ..];
        sink.Report(
            Codes.NotUtf8,
            new SourceSpan(before, before.Content.Length, before.Content.Length),
            "The text is not UTF-8 here.",
            "text in UTF-8",
            utf16 ? "text in UTF-16" : FormattableString.Invariant($"the byte 0x{bytes[good]:X2} at position {good + 1}"),
            "save the file as UTF-8");
        return null;
    }

    /// <summary>Reports a text that is larger than a file may be.</summary>
    public static bool IsTooLarge(SourceText source, DiagnosticSink sink)
    {
        if (source.Content.Length <= MostBytes)
        {
            return false;
        }

        sink.Report(Codes.FileTooLarge, new SourceSpan(source, 0, 0), "The text is too large for an instrument file.", SizeLimit, "more");
        return true;
    }

    private static int GoodLength(ReadOnlySpan<byte> bytes)
    {
        int at = 0;
        while (at < bytes.Length)
        {
            if (Rune.DecodeFromUtf8(bytes[at..], out _, out int consumed) != System.Buffers.OperationStatus.Done)
            {
                return at;
            }

            at += consumed;
        }

        return at;
    }

    private static string FoundSize(FileStream stream)
    {
        try
        {
            return stream.CanSeek ? FormattableString.Invariant($"{stream.Length / 1048576.0:0.0} MiB") : "more";
        }
        catch (IOException)
        {
            return "more";
        }
    }

    private static string? NearestFile(string path)
    {
        try
        {
            string? folder = Path.GetDirectoryName(Path.GetFullPath(path));
            if (folder is null || !Directory.Exists(folder))
            {
                return null;
            }

            // A folder may hold very many files; the first thousand are enough to find a slip of the finger.
            IEnumerable<string> files = Directory.EnumerateFiles(folder, "*.y*ml").Take(1000).Select(f => Path.GetFileName(f));
            return Nearest.Of(Path.GetFileName(path), files) is { } near ? $"name `{Path.Combine(Path.GetDirectoryName(path) ?? "", near)}`" : null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return null;
        }
    }
}
