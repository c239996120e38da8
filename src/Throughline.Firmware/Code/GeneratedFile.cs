namespace Throughline.Firmware;

/// <summary>One file of the generated code.</summary>
/// <param name="Name">Without a folder.</param>
/// <param name="Text">UTF-8 when written, lines ended by <c>\n</c>.</param>
/// <param name="Purpose">What it is for, in a few words.</param>
public sealed record GeneratedFile(string Name, string Text, string Purpose)
{
    /// <summary>Whether it is compiled for the instrument's processor: no header, and no test for the host.</summary>
    public bool IsForTheBoard => Name.EndsWith(".c", StringComparison.Ordinal) && !Name.EndsWith("_test.c", StringComparison.Ordinal);
}
