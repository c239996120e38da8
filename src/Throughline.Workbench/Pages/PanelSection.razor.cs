using System.Globalization;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Web;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;

namespace Throughline.Workbench.Pages;

/// <summary>Plays the panel in real time. The player lives as long as the page and begins anew with a new text.</summary>
public sealed partial class PanelSection : FollowingSection<PanelPlay>
{
    private const double Cell = 17;
    private const double Line = 25;
    private const int Step = 30;
    private const int MostLog = 14;
    private static readonly TimeSpan Frame = TimeSpan.FromMilliseconds(100);

    private readonly CancellationTokenSource _gone = new();
    private readonly Queue<string> _log = [];
    private int _speed = 1;
    private string _words = "";
    private string? _mistake;
    private string _screen = "";
    private bool _isPlaying;

    protected override PanelPlay Find(Instrument instrument, CancellationToken cancel)
    {
        if (instrument.Panel is null)
        {
            return new PanelPlay(null, null, "The file has no panel. A key `panel` says what display and keys there are, and the screens with what each key does.");
        }

        if (PanelProgram.Of(instrument) is null)
        {
            return new PanelPlay(null, null, "This panel can't be played: the instrument has no arithmetic that a processor can run, or a screen asks for what is not there. The findings say what.");
        }

        PanelPlayer player = new(instrument);
        return new PanelPlay(player, new PanelScript(player), "");
    }

    protected override void Arrived()
    {
        _log.Clear();
        _screen = Found!.Player?.Screen ?? "";
        Log(Found.Player is null ? "" : "switched on");
        if (!_isPlaying && Found.Player is not null)
        {
            _isPlaying = true;
            _ = PlayAsync();
        }
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing)
        {
            _gone.Cancel();
            _gone.Dispose();
        }

        base.Dispose(disposing);
    }

    private static int Columns(PanelPlayer player) => player.Program.Panel.Columns;

    /// <summary>The label of a key on the screen that is shown; null where it does nothing.</summary>
    private static string? LabelOf(PanelPlayer player, int key) =>
        player.Program.Machine.Layouts[player.Panel.Screen].Keys.Where(k => k.Number == key && k.Label.Value.Length > 0).Select(k => k.Label.Value).FirstOrDefault();

    private static string Failures(PanelPlayer player) =>
        string.Join(", ", PanelWords.Failures.Where(f => (player.Engine.Failures & (1 << (int)f.Kind)) != 0).Select(f => f.Word));

    private static string Time(PanelPlayer player, PanelScreen screen)
    {
        PanelProgramScreen program = player.Program.Screens[player.Program.Panel.Screens.IndexOf(screen)];
        return program.AfterMilliseconds > 0 ? $"after {Engineering.Duration(program.AfterMilliseconds / 1000.0)} to {player.Program.Panel.Screens[program.AfterScreen].Name.Value}" : "";
    }

    private static string LoopOf(PanelPlayer player, PanelScreen screen) => player.Program.Screens[player.Program.Panel.Screens.IndexOf(screen)].Loop switch
    {
        PanelLoop.Held => "held",
        PanelLoop.Test => "output test",
        _ => "follows",
    };

    /// <summary>Lets time pass while the page is there.</summary>
    private async Task PlayAsync()
    {
        try
        {
            using PeriodicTimer timer = new(Frame);
            while (await timer.WaitForNextTickAsync(_gone.Token))
            {
                if (_speed > 0 && Found?.Player is { } player)
                {
                    player.Run((long)(Frame.TotalMilliseconds * _speed));
                    Notice(player);
                    StateHasChanged();
                }
            }
        }
        catch (OperationCanceledException)
        {
            // The page is gone.
        }
    }

    private void Press(int key) => Change(() => Found!.Player!.Press(key), $"key {key + 1}{(LabelOf(Found!.Player!, key) is { } label ? $", {label}" : "")}");

    private void Digit(KeyboardEventArgs e)
    {
        if (e.Key is [>= '1' and <= '9' and var digit] && digit - '1' < Found!.Player!.Program.Panel.Keys)
        {
            Press(digit - '1');
        }
    }

    private void Change(Action action, string what)
    {
        _mistake = null;
        Log(what);
        action();
        Notice(Found!.Player!);
    }

    private void Wait() => Do($"wait {Step} s");

    private void Dip(int standard) => Change(() => Found!.Player!.Dip(standard), $"into standard {standard + 1}");

    private void SetCelsius(ChangeEventArgs e) => Number(e.Value as string, v => Found!.Player!.ProcessCelsius = Math.Clamp(v, -100, 500), "°C");

    private void Do(string step)
    {
        Log(step);
        _mistake = Found!.Script!.Do(step);
        Notice(Found.Player!);
    }

    private void Say()
    {
        if (_words.Trim() is { Length: > 0 and < 200 } words)
        {
            Do(words);
            _words = _mistake is null ? "" : _words;
        }
    }

    private void Number(string? text, Action<double> set, string unit)
    {
        if (double.TryParse((text ?? "").Trim().Replace('−', '-').Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value))
        {
            Change(() => set(value), $"{Engineering.WithUnit(Engineering.Number(value, 5), unit)}");
        }
        else
        {
            _mistake = $"`{text}` is no number.";
        }
    }

    private void Notice(PanelPlayer player)
    {
        if (player.Screen != _screen)
        {
            _screen = player.Screen;
            Log($"screen “{_screen}”");
        }
    }

    private void Log(string what)
    {
        if (what.Length == 0)
        {
            return;
        }

        _log.Enqueue($"{Engineering.Duration(Math.Round(Found?.Player?.Seconds ?? 0, 1))}  {what}");
        while (_log.Count > MostLog)
        {
            _log.Dequeue();
        }
    }
}
