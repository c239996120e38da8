using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
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
        if (!isFirst || At is null)
        {
            return;
        }

        Conditions reference = state.Followed.Nominal.Reference;
        _session.SetConditions(new Conditions(Ambient ?? reference.Ambient, Process ?? reference.Process, Supply ?? reference.SupplyShift, Load ?? reference.Load) { AgeSeconds = Age ?? 0 });
        UnitChoice? unit = Unit is >= 0 and long number ? new UnitChoice(new BatchOptions { Seed = (ulong)Math.Max(0, Seed ?? 1) }, number) : null;
        if (unit != _session.State.Unit)
        {
            _session.TakeUnit(unit);
        }

        _session.MoveTo(At.Value);
    }

    private void OnChanged() => _ = InvokeAsync(StateHasChanged);

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
