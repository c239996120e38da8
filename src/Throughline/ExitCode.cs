namespace Throughline;

/// <summary>What the program says to the shell.</summary>
internal static class ExitCode
{
    public const int AllMet = 0;

    public const int SomeNotMet = 1;

    /// <summary>The file or the command line can't be read.</summary>
    public const int Unreadable = 2;

    /// <summary>A fault of the program or of what it runs on, not of the user's file.</summary>
    public const int Fault = 3;
}
