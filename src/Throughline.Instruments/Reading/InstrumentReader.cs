namespace Throughline.Instruments;

/// <summary>Reads instrument files.</summary>
public static class InstrumentReader
{
    /// <summary>Reads a file and the parts files beside it. Never throws for what the user wrote or for a file that can't be read.</summary>
    public static Parsed<Instrument> ReadFile(string path) => throw new NotImplementedException();

    /// <summary>Reads a text; parts files are looked for in <paramref name="folder"/>, none when null.</summary>
    public static Parsed<Instrument> ReadText(string name, string text, string? folder = null) => throw new NotImplementedException();
}
