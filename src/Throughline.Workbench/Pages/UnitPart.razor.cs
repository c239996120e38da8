using System.Collections.Immutable;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>Looks into the unit that is in hand.</summary>
public sealed partial class UnitPart : ComponentBase, IDisposable
{
    /// <summary>Draws that are listed.</summary>
    private const int Most = 12;

    private readonly CancellationTokenSource _gone = new();
    private (Instrument Instrument, UnitChoice? Unit) _of;
    private UnitReport? _report;
    private string? _trouble;

    [Parameter]
    [EditorRequired]
    public InstrumentSession Session { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public SessionState State { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public Followed Followed { get; set; } = null!;

    /// <summary>What moves the display at the point that is looked at; empty where nothing is known of it.</summary>
    [Parameter]
    public ImmutableArray<BudgetLine> Lines { get; set; } = [];

    /// <summary>What was drawn, with what each moves the display by, the greatest first; what moves nothing by how near it is to its limit.</summary>
    private IEnumerable<(UnitDraw Draw, double Moves)> Draws(UnitReport report)
    {
        Dictionary<string, double> sensitivities = Lines.GroupBy(l => l.Name).ToDictionary(g => g.Key, g => g.First().Sensitivity);
        return report.Draws
            .Select(d => (Draw: d, Moves: sensitivities.TryGetValue(d.Name, out double s) ? s * (d.Value - d.Centre) : double.NaN))
            .OrderByDescending(d => double.IsFinite(d.Moves) ? Math.Abs(d.Moves) : -1)
            .ThenByDescending(d => Math.Abs(d.Draw.OfLimit));
    }

    public void Dispose()
    {
        _gone.Cancel();
        _gone.Dispose();
    }

    protected override async Task OnParametersSetAsync()
    {
        (Instrument Instrument, UnitChoice? Unit) wanted = (Followed.Instrument, State.Unit);
        if (_of == wanted)
        {
            return;
        }

        if (wanted.Unit != _of.Unit)
        {
            _report = null;
        }

        _of = wanted;
        _trouble = null;
        if (wanted.Unit is not { } unit)
        {
            return;
        }

        try
        {
            UnitReport report = await Task.Run(() => Batch.RunUnit(wanted.Instrument, unit.Options, unit.Unit), _gone.Token);
            if (_of == wanted)
            {
                _report = report;
            }
        }
        catch (OperationCanceledException)
        {
            // The page is gone.
        }
#pragma warning disable CA1031 // One section that fails takes no other with it.
        catch (Exception e)
#pragma warning restore CA1031
        {
            _trouble = $"{e.GetType().Name}: {e.Message}";
        }
    }
}
