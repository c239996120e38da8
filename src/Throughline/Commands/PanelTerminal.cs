using System.Diagnostics;
using System.Globalization;
using System.Text;
using Throughline.Firmware;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary>The panel played at a terminal, in real time: the digits are the keys from the left, a step of a script can be typed and sent with Enter, q ends it.</summary>
internal static class PanelTerminal
{
    private const int FrameMilliseconds = 50;

    public static int Play(Surroundings surroundings, IKeyboard keyboard, PanelPlayer player)
    {
        PanelScript script = new(player);
        TextWriter output = surroundings.Output;
        StringBuilder typed = new();
        string said = "";
        int drawn = 0;
        Stopwatch clock = Stopwatch.StartNew();
        long played = 0;
        output.Write($"Keys 1 to {player.Program.Panel.Keys.ToString(CultureInfo.InvariantCulture)} from the left; or type a step such as sensor 7.00, wait 10 s, and Enter; q and Enter ends.\n");
        while (true)
        {
            while (keyboard.Read() is { } key)
            {
                if (typed.Length == 0 && key.KeyChar is >= '1' and <= '9' && key.KeyChar - '0' <= player.Program.Panel.Keys)
                {
                    player.Press(key.KeyChar - '1');
                    said = "";
                }
                else if (key.Key == ConsoleKey.Enter)
                {
                    string step = typed.ToString().Trim();
                    typed.Clear();
                    if (step is "q" or "quit")
                    {
                        output.Write("\n");
                        return ExitCode.AllMet;
                    }

                    said = step.Length == 0 ? "" : script.Do(step) ?? "";
                    clock.Restart();
                    played = 0;
                }
                else if (key.Key == ConsoleKey.Backspace)
                {
                    typed.Length = Math.Max(0, typed.Length - 1);
                }
                else if (!char.IsControl(key.KeyChar))
                {
                    typed.Append(key.KeyChar);
                }
            }

            long due = clock.ElapsedMilliseconds - played;
            player.Run(due);
            played += due;
            drawn = Draw(output, player, typed.ToString(), said, drawn);
            if (keyboard.Wait(FrameMilliseconds))
            {
                return ExitCode.AllMet;
            }
        }
    }

    private static int Draw(TextWriter output, PanelPlayer player, string typed, string said, int drawn)
    {
        PanelMoment now = PanelMoment.Of(player, 0, "");
        string[] lines = [.. PanelText.Frame(now), now.Beside, said, "> " + typed];
        StringBuilder text = new();
        if (drawn > 0)
        {
            text.Append(CultureInfo.InvariantCulture, $"\e[{drawn - 1}A\r");
        }

        text.AppendJoin('\n', lines.Select(l => Cells.Clean(l) + "\e[K"));
        output.Write(text.ToString());
        output.Flush();
        return lines.Length;
    }
}
