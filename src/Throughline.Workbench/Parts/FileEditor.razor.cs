using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Server;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Parts;

/// <summary>Keeps the browser's text editor and the session's text the same.</summary>
public sealed partial class FileEditor : ComponentBase, IAsyncDisposable
{
    private readonly string _author = Guid.NewGuid().ToString("N");
    private ElementReference _place;
    private IJSObjectReference? _module;
    private IJSObjectReference? _editor;
    private DotNetObjectReference<FileEditor>? _self;
    private InstrumentSession? _shown;
    private long _revision;
    private object? _marked;
    private bool _hasMarks;

    [Parameter]
    [EditorRequired]
    public InstrumentSession Session { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public SessionState State { get; set; } = null!;

    /// <summary>Called by the browser when the user has changed the text.</summary>
    [JSInvokable]
    public void Edited(string text) => Session.Edit(text, _author);

    /// <summary>Called by the browser when the user wants the file written.</summary>
    [JSInvokable]
    public void Save() => Session.Save();

    /// <summary>Called by the browser for what may stand at a place.</summary>
    [JSInvokable]
#pragma warning disable CA1822 // The browser calls it on this very editor.
    public Completion Complete(string text, int position) => InstrumentCompletion.At(text, position);
#pragma warning restore CA1822

    /// <summary>Brings a place of the file into view and selects it.</summary>
    public async Task ShowAsync(SourceSpan place)
    {
        if (_editor is not null && !place.IsNowhere)
        {
            await _editor.InvokeVoidAsync("show", place.Start, place.End);
        }
    }

    public async ValueTask DisposeAsync()
    {
        try
        {
            if (_editor is not null)
            {
                await _editor.InvokeVoidAsync("stop");
                await _editor.DisposeAsync();
            }

            if (_module is not null)
            {
                await _module.DisposeAsync();
            }
        }
        catch (JSDisconnectedException)
        {
            // The page is gone.
        }

        _self?.Dispose();
    }

    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (firstRender)
        {
            _self = DotNetObjectReference.Create(this);
            _module = await Browser.InvokeAsync<IJSObjectReference>("import", PageFiles.AddressOf("file-editor.js"));
            SessionState state = Session.State;
            (_shown, _revision) = (Session, state.Revision);
            _editor = await _module.InvokeAsync<IJSObjectReference>("start", _place, _self, state.Text, Session.Name);
        }

        if (_editor is null)
        {
            return;
        }

        SessionState now = Session.State;
        if (_shown != Session)
        {
            (_shown, _revision, _marked, _hasMarks) = (Session, now.Revision, null, false);
            await _editor.InvokeVoidAsync("open", now.Text);
        }
        else if (_revision != now.Revision)
        {
            _revision = now.Revision;
            if (now.Author != _author)
            {
                await _editor.InvokeVoidAsync("replace", now.Text);
            }
        }

        if (!ReferenceEquals(_marked, Marks(now)))
        {
            _marked = Marks(now);
            Mark[] marks = Marked(now);
            if (_hasMarks || marks.Length > 0)
            {
                _hasMarks = marks.Length > 0;
                await _editor.InvokeVoidAsync("mark", (object)marks);
            }

            // A mistake that was not typed here is brought into view.
            if (now.Diagnostics is [{ Span: { IsNowhere: false } place }, ..] && now.Author != _author)
            {
                await _editor.InvokeVoidAsync("reveal", place.Start);
            }
        }
    }

    /// <summary>What the marks in the text follow from: the mistakes, or the findings. While new ones are being found the old ones stay, and move along with what is typed.</summary>
    private object? Marks(SessionState state) => !state.Diagnostics.IsEmpty ? state.Diagnostics[0] : state.IsReviewed ? state.Review : _marked is Diagnostic ? null : _marked;

    private static Mark[] Marked(SessionState state) => !state.Diagnostics.IsEmpty
        ? [.. state.Diagnostics.Where(d => !d.Span.IsNowhere && d.Span.Source?.Content == state.Text).Select(d => new Mark(d.Span.Start, d.Span.End, "error", $"{d.Message} Expected {d.Expected}."))]
        : !state.IsReviewed ? []
        : [.. state.Review!.Findings.Where(f => f.Outcome != Outcome.Met && !f.Place.IsNowhere && f.Place.Source?.Content == state.Text)
            .Select(f => new Mark(f.Place.Start, f.Place.End, f.Outcome == Outcome.NotMet ? "error" : "warning", f.Statement + (f.Mend is { } mend ? " " + mend : "")))];

    /// <summary>A stretch of the text with what is to be said of it.</summary>
    private sealed record Mark(int From, int To, string Severity, string Message);
}
