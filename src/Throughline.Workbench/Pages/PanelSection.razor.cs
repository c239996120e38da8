using System.Globalization;
using Microsoft.AspNetCore.Components.Web;
using Throughline.Instruments;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>Plays the panel in real time, on the desk that all pages of the file share.</summary>
public sealed partial class PanelSection : FollowingSection<PanelPlay>
{
    private const double Cell = 17;
    private const double Line = 26;
    private const double Edge = 10;
    private const int Step = 30;

    private static readonly string[] Stages = ["panel"];

    private IDisposable? _watch;
    private PanelDesk? _desk;
    private string _words = "";
    private int _write = 5;
    private string? _mistake;
    private bool _isBusy;

    private string Unit => Followed.Instrument.Specification.Unit;

    protected override PanelPlay Find(Instrument instrument, CancellationToken cancel) =>
        instrument.Panel is null
            ? new PanelPlay(null, "The file has no panel. A key `panel` says what display and keys there are, and the screens with what each key does.")
            : Session.Panel.Open(instrument) is { } program
                ? new PanelPlay(program, "")
                : new PanelPlay(null, "This panel can't be played: the instrument has no arithmetic that a processor can run, or a screen asks for what is not there. The findings say what.");

    protected override void Arrived()
    {
        if (Found!.Program is not null && _desk is null)
        {
            _desk = Session.Panel;
            _desk.Changed += OnChanged;
            _watch = _desk.Watch();
        }
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing && _desk is not null)
        {
            _desk.Changed -= OnChanged;
            _watch?.Dispose();
        }

        base.Dispose(disposing);
    }

    private void OnChanged() => _ = InvokeAsync(StateHasChanged);

    /// <summary>A step that may take a while, off the page's own thread; one at a time.</summary>
    private async Task Act(Action<PanelDesk> action)
    {
        if (_desk is { } desk && !_isBusy)
        {
            _isBusy = true;
            _mistake = null;
            try
            {
                await Task.Run(() => action(desk));
            }
            finally
            {
                _isBusy = false;
            }
        }
    }

    // A pointer holds a key as long as it is down; a keyboard's click has no pointer and is a press.
    private void Click(MouseEventArgs e, int key)
    {
        if (e.Detail == 0)
        {
            _desk!.Push(key);
            _desk.Release();
        }
    }

    private async Task Say()
    {
        if (_words.Trim() is { Length: > 0 and < 200 } words)
        {
            await Act(d => d.Say(words));
            _words = _desk!.View?.Mistake is null ? "" : _words;
        }
    }

    private Task Number(string? text, Action<PanelDesk, double> set)
    {
        if (double.TryParse((text ?? "").Trim().Replace('−', '-').Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value))
        {
            return Act(d => set(d, value));
        }

        _mistake = $"`{text}` is no number.";
        return Task.CompletedTask;
    }

    private static string Pressed(bool isPressed) => isPressed ? "true" : "false";

    private static string NameOf(PanelKeyView key, int place) =>
        $"Key {place + 1}: {key.Label ?? "without effect on this screen"}{(key.Label is not null && !key.HasEffect ? " (does nothing now)" : "")}";
}
