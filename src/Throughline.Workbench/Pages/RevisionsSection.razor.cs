using System.Collections.Immutable;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Workbench.Files;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>Compares the text here with a revision that is kept elsewhere.</summary>
public sealed partial class RevisionsSection : ComponentBase, IDisposable
{
    private const int Most = 200;

    private readonly CancellationTokenSource _gone = new();
    private ImmutableArray<KeptRevision> _kept = [];
    private ImmutableArray<string> _others = [];
    private string _chosen = "";
    private string? _trouble;
    private (Instrument Old, Instrument New)? _compared;
    private Comparison? _comparison;
    private ImmutableArray<CodeChange> _code = [];
    private bool _isOld;

    [Parameter]
    [EditorRequired]
    public InstrumentSession Session { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public SessionState State { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public Followed Followed { get; set; } = null!;

    private IEnumerable<Turned> Turns => _comparison!.Turned.Where(t => t.OutcomeChanged).OrderByDescending(t => t.New?.Outcome ?? Outcome.Met);

    public void Dispose()
    {
        _gone.Cancel();
        _gone.Dispose();
    }

    protected override async Task OnInitializedAsync()
    {
        _chosen = State.Other?.Word ?? "";
        _others = [.. Workspace.Folder.Instruments().Where(n => n != Session.Name)];
        _kept = await GitHistory.OfAsync(Session.Path, _gone.Token);
    }

    protected override async Task OnParametersSetAsync()
    {
        if (State.Other is not { } other || _compared == (other.Instrument, Followed.Instrument))
        {
            return;
        }

        bool isOther = _compared?.Old != other.Instrument;
        (Instrument old, Instrument now) = (other.Instrument, Followed.Instrument);
        _compared = (old, now);
        _isOld = true;
        if (isOther)
        {
            _comparison = null;
        }

        (Comparison comparison, ImmutableArray<CodeChange> code) = await Task.Run(() => (Reviewer.Compare(old, now, Workspace.FurtherChecks), CodeChange.Of(old, now)), _gone.Token);
        if (_compared == (old, now))
        {
            (_comparison, _code, _isOld) = (comparison, code, false);
        }
    }

    private static string Text(double value, string unit) => double.IsNaN(value) ? "—" : Engineering.Format(value, unit, 5);

    private async Task Choose(string? word)
    {
        _chosen = word ?? "";
        _trouble = null;
        (string name, string? text, string? folder) = await OtherText.OfAsync(Workspace, Session, _chosen, _gone.Token);
        if (name.Length == 0)
        {
            Remove();
        }
        else if (text is null)
        {
            _trouble = $"{name} can't be read.";
        }
        else if (Session.LayBeside(name, text, _chosen, folder) is [var mistake, ..])
        {
            _trouble = $"{name} has a mistake in line {mistake.Span.Line}: {mistake.Message}";
        }
    }

    private void Remove()
    {
        _chosen = "";
        Session.LayNothingBeside();
    }
}
