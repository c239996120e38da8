using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>One file of C while it is written: lines ended by <c>\n</c>, numbers as C reads them.</summary>
internal sealed class CodeFile
{
    /// <summary>With the head that every file has: instrument, revision, and the digest of the file that it comes from.</summary>
    public CodeFile(Instrument instrument, string what) => Text.Append(HeadOf(instrument, what));

    public StringBuilder Text { get; } = new();

    public void Line(string line = "") => Text.Append(line).Append('\n');

    public void Line(FormattableString line) => Line(line.ToString(CultureInfo.InvariantCulture));

    /// <summary>The comment at the head of a file.</summary>
    public static string HeadOf(Instrument instrument, string what)
    {
        string revision = instrument.Revision is { } r ? ", revision " + r.Value : "";
        return string.Join(
            '\n',
            "/*",
            " * " + CodeText.Comment(instrument.Name.Value + revision) + ": " + what,
            " *",
            " * Derived from the instrument file, SHA-256 of its text:",
            " * " + Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(instrument.Source.Content))),
            " * Change the instrument file, not this one.",
            " */",
            "");
    }

    public override string ToString() => Text.ToString();
}
