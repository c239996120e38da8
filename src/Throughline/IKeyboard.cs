namespace Throughline;

/// <summary>Keys as a person at a terminal presses them.</summary>
internal interface IKeyboard
{
    /// <summary>The next key; null when none waits.</summary>
    ConsoleKeyInfo? Read();

    /// <summary>Waits for a moment.</summary>
    /// <returns>Whether the terminal is gone.</returns>
    bool Wait(int milliseconds);
}

/// <summary>The keyboard of the process's own terminal.</summary>
internal sealed class ConsoleKeyboard : IKeyboard
{
    public ConsoleKeyInfo? Read() => Console.KeyAvailable ? Console.ReadKey(intercept: true) : null;

    public bool Wait(int milliseconds)
    {
        Thread.Sleep(milliseconds);
        return false;
    }
}
