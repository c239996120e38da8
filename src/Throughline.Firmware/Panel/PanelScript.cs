using System.Globalization;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// Plays a panel from words: what a person does, what the world does, and the words in which findings tell a way through a panel. Not for several threads.
/// </summary>
public sealed class PanelScript(PanelPlayer player)
{
    private const double MostWaiting = 900;

    /// <summary>What can be said, for help texts.</summary>
    public static IReadOnlyList<(string Words, string Meaning)> Vocabulary { get; } =
    [
        ("MENU, press MENU", "press the key with this label; key 1 is the leftmost"),
        ("hold + 3 s", "hold it, without a time until its value moves no more"),
        ("wait 10 s", "let time pass"),
        ("sensor 7.00", "put the sensor into something; sensor first standard puts it into a standard"),
        ("process 18 °C", "its temperature"),
        ("unit slope 84 %", "give the sensor a number of its own, named as in the file"),
        ("break sensor", "open its wire; mend sensor closes it"),
        ("spoil memory 12", "change a byte of the settings memory; blank memory makes it as it was never written"),
        ("restart", "switch off and on"),
        ("reading steady", "put the sensor into the standard of the screen and wait; reading moves disturbs it"),
        ("a good sensor", "one that a calibration accepts; a sensor to be refused is one that it refuses"),
        ("entries to be refused", "on a step of the output's trim: hold + until the value is beyond what is accepted"),
        ("sensor broken, memory corrupt, out of range", "make it so; with no more behind it, mend it"),
    ];

    public PanelPlayer Player { get; } = player;

    /// <summary>Does what a line says; steps are separated by <c>·</c>, a line that begins with # says nothing.</summary>
    /// <returns>What is wrong with it; null when it was done.</returns>
    public string? Do(string line)
    {
        if (line.TrimStart().StartsWith('#'))
        {
            return null;
        }

        foreach (string step in line.Split('·', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
        {
            if (Step(step) is { } mistake)
            {
                return mistake;
            }
        }

        return null;
    }

    private string? Step(string step)
    {
        if (KeyOf(step) is { } bare)
        {
            Player.Press(bare);
            return null;
        }

        (string word, string rest) = Cut(step);
        switch (word)
        {
            case "press":
                return KeyOf(rest) is { } key ? Done(() => Player.Press(key)) : NoKey(rest);
            case "hold":
                return Hold(rest);
            case "wait":
                return TrySeconds(rest, out double seconds) ? Done(() => Player.Run((long)Math.Round(seconds * 1000))) : $"`{rest}` is no time, such as 10 s, 5 min.";
            case "process":
                return TryNumber(rest, "°C", out double celsius) ? Done(() => Player.ProcessCelsius = celsius) : $"`{rest}` is no temperature, such as 18 °C.";
            case "unit":
                return Unit(rest);
            case "spoil" when rest.StartsWith("memory ", StringComparison.Ordinal):
                return int.TryParse(rest.AsSpan(7), NumberStyles.None, CultureInfo.InvariantCulture, out int address) && address < (Player.Memory?.Bytes.Length ?? int.MaxValue)
                    ? Spoil(address, 1) : $"`{rest[7..]}` is no address of the settings memory.";
            case "restart" when rest.Length == 0:
                return Done(Player.Restart);
        }

        switch (step)
        {
            case "blank memory":
                return Blank();
            case "break sensor":
                return Broken(true);
            case "mend sensor":
                return Broken(false);
            case "from the start":
                return Done(Player.Restart);
            case "nobody there":
                return Done(() => Player.Run(3_600_000));
            case "reading steady":
                return Steady();
            case "reading moves":
                return Moves();
            case "a good sensor":
                return Judged(true);
            case "a sensor to be refused":
                return Judged(false);
            case "entries to be accepted":
                return null;
            case "entries to be refused":
                return EnterTooMuch();
        }

        foreach ((string failure, PanelFailureKind kind) in PanelWords.Failures)
        {
            if (step == failure || step == failure + " no more")
            {
                return Fail(kind, step == failure);
            }
        }

        return word == "sensor" ? Sensor(rest) : $"`{step}` is none of the panel's keys now and no other step.";
    }

    private string? EnterTooMuch()
    {
        PanelProgramScreen screen = Player.Program.Screens[Player.Panel.Screen];
        int up = screen.Keys.IndexOf(new PanelStep(PanelStepKind.Up, 0));
        if (screen.Trims < 0 || up < 0)
        {
            return $"`{Player.Screen}` enters no {Player.Signal.Noun} of the output's trim.";
        }

        Player.RunUntil(() => Player.Panel.Entered(screen.Entry) == Player.Program.Entries[screen.Entry].High, MostWaiting, 1UL << up);
        Player.Run(PanelPlayer.PressMilliseconds);
        return null;
    }

    private static string? Done(Action action)
    {
        action();
        return null;
    }

    private string NoKey(string label) => $"`{Player.Screen}` has no key `{label}`.";

    /// <summary>A key by its label on the screen, in the language that is shown or the screens' own, or as <c>key 2</c>.</summary>
    private int? KeyOf(string label)
    {
        PanelScreen screen = Player.Program.Panel.Screens[Player.Panel.Screen];
        KeyLayout layout = Player.Program.Machine.Layouts[Player.Panel.Screen];
        string? language = Player.Program.Languages[Player.Panel.Language];
        PanelTranslation? translation = screen.Translations.FirstOrDefault(t => t.Language.Value == language);
        for (int i = 0; i < layout.Keys.Length; i++)
        {
            if (layout.Keys[i].Number is { } number && (layout.Keys[i].Label.Value == label || (translation is { Labels.IsEmpty: false } && translation.Labels[i].Value == label)))
            {
                return number;
            }
        }

        return label.StartsWith("key ", StringComparison.Ordinal) && int.TryParse(label.AsSpan(4), NumberStyles.None, CultureInfo.InvariantCulture, out int place)
            && place >= 1 && place <= Player.Program.Panel.Keys ? place - 1 : null;
    }

    private string? Hold(string rest)
    {
        if (KeyOf(rest) is { } whole)
        {
            // Until the value moves no more; a key that changes no value is held for a second.
            long[] before = [];
            Player.RunUntil(
                () =>
                {
                    long[] now = [.. Player.Program.Entries.Select((_, i) => Player.Panel.Entered(i))];
                    bool isOver = before.AsSpan().SequenceEqual(now);
                    before = now;
                    Player.Run(PanelRun.RepeatsAfter + PanelRun.RepeatsEvery, 1UL << whole);
                    return isOver;
                },
                MostWaiting,
                1UL << whole);
            Player.Run(PanelPlayer.PressMilliseconds);
            return null;
        }

        int space = rest.IndexOf(' ', StringComparison.Ordinal);
        while (space >= 0)
        {
            if (KeyOf(rest[..space]) is { } key && TrySeconds(rest[(space + 1)..], out double seconds))
            {
                Player.Run((long)Math.Round(seconds * 1000), 1UL << key);
                Player.Run(PanelPlayer.PressMilliseconds);
                return null;
            }

            space = rest.IndexOf(' ', space + 1);
        }

        return NoKey(rest);
    }

    private string? Sensor(string rest)
    {
        foreach ((string word, PanelSource source) in PanelWords.Sources)
        {
            if (word == rest && PanelWords.StandardOf(source) is { } standard)
            {
                return standard < (Player.Instrument.Calibration?.Standards.Length ?? 0) ? Done(() => Player.Dip(standard)) : $"The calibration has no {rest}.";
            }
        }

        string unit = Player.Instrument.Specification.Unit;
        return TryNumber(rest, unit, out double value) ? Done(() => Player.Sensor = value) : $"`{rest}` is no value in {unit}.";
    }

    private string? Unit(string rest)
    {
        foreach (Parameter parameter in Player.SensorParameters)
        {
            if (rest.StartsWith(parameter.Name + " ", StringComparison.Ordinal) && TryNumber(rest[(parameter.Name.Length + 1)..], Player.Instrument.Specification.Unit, out double value))
            {
                Player.SetSensor(parameter, value);
                return null;
            }
        }

        return $"`{rest}` is no number of the sensor. It has: {string.Join(", ", Player.SensorParameters.Select(p => p.Name))}.";
    }

    private string? Broken(bool isBroken)
    {
        Player.IsBroken = isBroken;
        return Player.IsBroken == isBroken ? null : "What the file says of the sensor has no wire to break.";
    }

    private string? Steady()
    {
        PanelProgramScreen screen = Player.Program.Screens[Player.Panel.Screen];
        if (screen.Standard >= 0 && screen.Standard < (Player.Instrument.Calibration?.Standards.Length ?? 0))
        {
            Player.Dip(screen.Standard);
        }

        int shown = Player.Panel.Screen;
        return Player.RunUntil(() => Player.Panel.IsSteady || Player.Panel.Screen != shown, MostWaiting) ? null : "The reading does not become steady.";
    }

    private string? Judged(bool isGood)
    {
        bool wasSteady = Player.Panel.IsSteady;
        if (!Player.Judge(isGood))
        {
            return "No calibration refuses a sensor of this instrument for its zero.";
        }

        // Who had a steady reading waits until it is steady again.
        return !wasSteady || (Player.RunUntil(() => !Player.Panel.IsSteady, 10) && Player.RunUntil(() => Player.Panel.IsSteady, MostWaiting)) || isGood
            ? null : "The reading does not become steady.";
    }

    private string? Moves()
    {
        const double Share = 0.05;
        Player.Sensor += Share * Player.Instrument.Specification.Range.Width * (Player.Sensor > Player.Instrument.Specification.Range.Middle ? -1 : 1);
        return Player.RunUntil(() => !Player.Panel.IsSteady, MostWaiting) ? null : "The reading stays steady.";
    }

    private string? Fail(PanelFailureKind kind, bool comes)
    {
        const double Soon = 60;
        QuantityRange range = Player.Instrument.Specification.Range;
        bool Is() => (Player.Engine.Failures & (1 << (int)kind)) != 0;
        switch (kind)
        {
            case PanelFailureKind.SensorBroken:
                Player.IsBroken = comes;
                if (!comes)
                {
                    Player.Sensor = range.Middle;
                }
                else if (!Player.RunUntil(Is, Soon))
                {
                    // A break that the reading does not show: a value that nobody believes does the same to the code.
                    Player.IsBroken = false;
                    Player.Sensor = range.High + range.Width;
                }

                break;
            case PanelFailureKind.OutOfRange:
                const double Beyond = 0.02;
                Player.Sensor = comes ? range.High + (Beyond * range.Width) : range.Middle;
                break;
            default:
                return !comes ? "Memory does not mend itself: RESET or a calibration writes it anew." : Spoil(0, Player.Memory?.Bytes.Length ?? 0) ?? (Player.RunUntil(Is, Soon) ? null : Unseen(kind));
        }

        return Player.RunUntil(() => Is() == comes, Soon) ? null : Unseen(kind);
    }

    private static string Unseen(PanelFailureKind kind) => $"The code does not see it: {PanelWords.WordOf(kind)}.";

    /// <summary>Turns every bit of some bytes round.</summary>
    private string? Spoil(int address, int count)
    {
        if (Player.Memory is not { } memory)
        {
            return "The instrument has no settings memory.";
        }

        for (int i = address; i < address + count; i++)
        {
            memory.Bytes[i] ^= 0xFF;
        }

        return null;
    }

    private string? Blank()
    {
        if (Player.Memory is not { } memory)
        {
            return "The instrument has no settings memory.";
        }

        Array.Fill(memory.Bytes, byte.MaxValue);
        Player.Restart();
        return null;
    }

    private static (string Word, string Remainder) Cut(string step)
    {
        int space = step.IndexOf(' ', StringComparison.Ordinal);
        return space < 0 ? (step, "") : (step[..space], step[(space + 1)..].Trim());
    }

    private static bool TrySeconds(string text, out double seconds)
    {
        foreach ((string unit, double factor) in new[] { ("ms", 1e-3), ("min", 60), ("s", 1), ("h", 3600) })
        {
            if (text.EndsWith(unit, StringComparison.Ordinal) && TryNumber(text, unit, out seconds) && seconds >= 0 && seconds * factor <= 86_400)
            {
                seconds *= factor;
                return true;
            }
        }

        seconds = 0;
        return false;
    }

    /// <summary>A number with or without its unit; per cent and the prefixes of volts are known too.</summary>
    private static bool TryNumber(string text, string unit, out double value)
    {
        double factor = 1;
        string number = text.Trim();
        foreach ((string suffix, double times) in new[] { (unit, 1.0), ("%", 0.01), ("mV/V", 1e-3), ("mV", 1e-3), ("V", 1), ("MΩ", 1e6), ("kΩ", 1e3), ("Ω", 1), ("°C", 1), ("K", 1) })
        {
            if (suffix.Length > 0 && number.EndsWith(suffix, StringComparison.Ordinal))
            {
                (number, factor) = (number[..^suffix.Length].TrimEnd(' ', '\u00A0', '\u2009', '\u202F'), times);
                break;
            }
        }

        bool isNumber = double.TryParse(number.Replace('−', '-'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out value)
            && double.IsFinite(value);
        value *= factor;
        return isNumber;
    }
}
