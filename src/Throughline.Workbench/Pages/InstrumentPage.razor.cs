using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Files;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>One instrument: its file, what follows from it on the page that the address names, and what must hold.</summary>
public sealed partial class InstrumentPage : ComponentBase, IDisposable
{
    private InstrumentSession? _session;
    private bool _showsFile = true;
    private bool? _showsFindings;
    private FileEditor? _editor;
    private string? _placed;
    private bool _isBesideAsked;
    private (long? Unit, ulong? Seed, string? Beside) _addressed;

    /// <summary>The page's word in the address.</summary>
    [Parameter]
    public string Section { get; set; } = "";

    /// <summary>The instrument file's name in the opened folder.</summary>
    [SupplyParameterFromQuery]
    public string? File { get; set; }

    [SupplyParameterFromQuery]
    public double? At { get; set; }

    [SupplyParameterFromQuery]
    public double? Ambient { get; set; }

    [SupplyParameterFromQuery]
    public double? Process { get; set; }

    [SupplyParameterFromQuery]
    public double? Supply { get; set; }

    [SupplyParameterFromQuery]
    public double? Load { get; set; }

    [SupplyParameterFromQuery]
    public double? Age { get; set; }

    [SupplyParameterFromQuery]
    public long? Unit { get; set; }

    [SupplyParameterFromQuery]
    public long? Seed { get; set; }

    /// <summary>What is laid beside, see <see cref="OtherText"/>.</summary>
    [SupplyParameterFromQuery]
    public string? Beside { get; set; }

    private SessionState? State => _session?.State;

    private string SectionTitle => Link.Sections.FirstOrDefault(s => s.Word == Section).Title ?? "Throughline";

    // Findings stand beside the chain; elsewhere they make room for what the page is about until they are asked for.
    private bool ShowsFindings => _showsFindings ?? Section == "chain";

    public void Dispose()
    {
        if (_session is not null)
        {
            _session.Changed -= OnChanged;
        }
    }

    protected override void OnParametersSet()
    {
        if (_session?.Name != File)
        {
            Dispose();
            _session = File is null ? null : Workspace.Open(File);
            if (_session is not null)
            {
                _session.Changed += OnChanged;
            }
        }

        Place();
        _addressed = Addressed();
    }

    protected override async Task OnParametersSetAsync()
    {
        if (_isBesideAsked || Beside is not { Length: > 0 and < 1024 } word || _session is not { State.Followed: not null } session)
        {
            return;
        }

        _isBesideAsked = true;
        if (session.State.Other?.Word != word && await OtherText.OfAsync(Workspace, session, word, CancellationToken.None) is { Text: { } text } other)
        {
            session.LayBeside(other.Name, text, word, other.Folder);
        }
    }

    /// <summary>What the address says is looked at: once for each address, since the same page may move on.</summary>
    private void Place()
    {
        string address = Navigation.Uri;
        if (_session?.State is not { Followed: not null } state || _placed == address)
        {
            return;
        }

        bool isFirst = _placed is null;
        _placed = address;
        if (!isFirst)
        {
            return;
        }

        // An address without a unit means the nominal one, whatever another page has in hand.
        UnitChoice? unit = Unit is >= 0 and long number ? new UnitChoice(new BatchOptions { Seed = (ulong)Math.Max(0, Seed ?? 1) }, number) : null;
        if ((unit?.Unit, unit?.Options.Seed) != (state.Unit?.Unit, state.Unit?.Options.Seed))
        {
            _session.TakeUnit(unit);
        }

        if (At is null)
        {
            return;
        }

        Conditions reference = state.Followed.Nominal.Reference;
        _session.SetConditions(new Conditions(Ambient ?? reference.Ambient, Process ?? reference.Process, Supply ?? reference.SupplyShift, Load ?? reference.Load) { AgeSeconds = Age ?? 0 });
        _session.MoveTo(At.Value);
    }

    private void OnChanged() => _ = InvokeAsync(() =>
    {
        StateHasChanged();
        Follow();
    });

    private (long? Unit, ulong? Seed, string? Beside) Addressed() => (State?.Unit?.Unit, State?.Unit?.Options.Seed, State?.Other?.Word);

    /// <summary>The address names the unit in hand and what is laid beside, so that one that is kept restores them. A unit that is taken is looked at.</summary>
    private void Follow()
    {
        if (!RendererInfo.IsInteractive || State is null || _addressed == Addressed())
        {
            return;
        }

        bool isTaken = State.Unit is { } unit && unit.Unit != _addressed.Unit;
        _addressed = Addressed();
        Navigation.NavigateTo(Link.To(Section, _session!.Name, State) + (isTaken && Section == "accuracy" ? "#unit-head" : ""), replace: true);
    }

    private static string Pressed(bool isPressed) => isPressed ? "true" : "false";

    private async Task ShowPlace(SourceSpan place)
    {
        _showsFile = true;
        if (_editor is not null)
        {
            await _editor.ShowAsync(place);
        }
    }
}
