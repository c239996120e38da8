using Microsoft.AspNetCore.Components;
using Throughline.Instruments;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>A section whose content takes longer than a keystroke: it is found on another thread for each new text, and the old one is shown until it is there.</summary>
/// <typeparam name="T">What it shows.</typeparam>
public abstract class FollowingSection<T> : ComponentBase, IDisposable
    where T : class
{
    private CancellationTokenSource _work = new();
    private Instrument? _instrument;

    [Parameter]
    [EditorRequired]
    public InstrumentSession Session { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public SessionState State { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public Followed Followed { get; set; } = null!;

    /// <summary>See <see cref="Printed"/>.</summary>
    [CascadingParameter(Name = Printed.Name)]
    public bool IsPrinted { get; set; }

    /// <summary>Asked to show a place of the file.</summary>
    [Parameter]
    public EventCallback<SourceSpan> Show { get; set; }

    /// <summary>What was found; null before the first time.</summary>
    protected T? Found { get; private set; }

    /// <summary>Whether <see cref="Found"/> is of an older text.</summary>
    protected bool IsOld { get; private set; }

    /// <summary>What went wrong in the program itself; null when nothing did.</summary>
    protected string? Trouble { get; private set; }

    public void Dispose()
    {
        Dispose(disposing: true);
        GC.SuppressFinalize(this);
    }

    protected virtual void Dispose(bool disposing)
    {
        if (disposing)
        {
            _work.Cancel();
            _work.Dispose();
        }
    }

    protected override Task OnParametersSetAsync() => _instrument == Followed.Instrument ? Task.CompletedTask : FindAnewAsync();

    /// <summary>Finds it once more, because something else was asked for.</summary>
    protected async Task FindAnewAsync()
    {
        await _work.CancelAsync();
        _work.Dispose();
        _work = new CancellationTokenSource();
        Instrument instrument = _instrument = Followed.Instrument;
        CancellationToken cancel = _work.Token;
        IsOld = true;
        try
        {
            T found = await Task.Run(() => Find(instrument, cancel), cancel);
            if (!cancel.IsCancellationRequested)
            {
                (Found, IsOld, Trouble) = (found, false, null);
                Arrived();
            }
        }
        catch (OperationCanceledException)
        {
            // A newer text is being looked at.
        }
#pragma warning disable CA1031 // The edge of a background thread: the page says so and stays.
        catch (Exception e)
#pragma warning restore CA1031
        {
            if (!cancel.IsCancellationRequested)
            {
                Trouble = $"{e.GetType().Name}: {e.Message}";
            }
        }
    }

    /// <summary>Finds it. On another thread.</summary>
    protected abstract T Find(Instrument instrument, CancellationToken cancel);

    /// <summary>Called on the page's own thread when it is there.</summary>
    protected virtual void Arrived()
    {
    }
}
