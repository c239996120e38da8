using System.Globalization;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>A simulated unit on the bench, in whose trimmers the user turns.</summary>
public sealed partial class AdjustmentSection : ComponentBase
{
    /// <summary>The least move of a trimmer of which nothing is known, a share of its travel.</summary>
    private const double UnknownFineness = 0.001;

    private Instrument? _instrument;
    private BenchUnit? _unit;
    private long? _number;
    private List<BenchMeter> _meters = [];
    private int? _rounds;

    [Parameter]
    [EditorRequired]
    public SessionState State { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public Followed Followed { get; set; } = null!;

    /// <summary>See <see cref="Printed"/>.</summary>
    [CascadingParameter(Name = Printed.Name)]
    public bool IsPrinted { get; set; }

    protected override void OnParametersSet()
    {
        if (_instrument == Followed.Instrument)
        {
            return;
        }

        bool isFirst = _instrument is null;
        _instrument = Followed.Instrument;
        if (isFirst)
        {
            _number = State.Unit?.Unit;
        }

        Begin();
        if (isFirst && State.Unit is not null)
        {
            // The unit in hand is shown everywhere as its adjustment left it.
            AdjustAll();
        }
    }

    /// <summary>What the bench puts where: at the sensor's first node it takes the sensor's place.</summary>
    private string SetText(SetSource source)
    {
        Sensor sensor = Followed.Instrument.Sensor;
        bool isSensor = sensor.SignalKind == SignalKind.Ratio ? sensor.Terminals.Any(t => t.Node.Value == source.Node.Value) : sensor.Terminals.FirstOrDefault()?.Node.Value == source.Node.Value;
        if (!isSensor)
        {
            return $"Set {source.Node.Value} to {source.Value.Text}.";
        }

        return sensor.SignalKind switch
        {
            SignalKind.Ratio => $"Put a bridge simulator in the sensor's place and set it to {source.Value.Text}.",
            SignalKind.Resistance => $"Put a known resistance in the sensor's place: {source.Value.Text}.",
            SignalKind.Current => $"Put a source of current in the sensor's place: {source.Value.Text}.",
            _ => $"Put a source of voltage in the sensor's place: {source.Value.Text} at {source.Node.Value}{(sensor.Terminals.Length > 1 ? $" against {sensor.Terminals[1].Node.Value}" : "")}.",
        };
    }

    private static double Fine(ITrimmer trimmer) => trimmer.Resolution is > 0 and double resolution ? resolution : UnknownFineness;

    private static double Parse(string? text) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) ? value : double.NaN;

    private static string TurnsText(ITrimmer trimmer, double position) =>
        trimmer.Turns is { } turns ? $"{Engineering.Fixed(position * turns, 2)} of {Engineering.Number(turns)} turns" : Engineering.Percent(position);

    /// <summary>The digits that the meter has, no more.</summary>
    private static string MeterText(BenchTask task, BenchMeter meter)
    {
        double scale = task.Unit == "A" ? 1e-3 : 1;
        int decimals = task.Count > 0 ? Math.Clamp((int)Math.Round(-Math.Log10(task.Count / scale)), 0, 6) : 4;
        return double.IsNaN(meter.Shown) ? "—" : Engineering.Fixed(meter.Shown / scale, decimals, task.Unit == "A" ? "mA" : "V");
    }

    private void Take(string? text)
    {
        _number = long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out long number) && number < 1_000_000_000 ? number : null;
        Begin();
    }

    private void Begin()
    {
        _unit = _number is { } number ? BenchUnit.OfUnit(_instrument!, new BatchOptions(), number) : BenchUnit.Of(_instrument!);
        _rounds = null;
        ReadAll();
    }

    private void Turn(int step, double position)
    {
        _unit!.Turn(step, position);
        ReadAll();
    }

    private void AdjustAll()
    {
        _rounds = _unit!.AdjustAll();
        ReadAll();
    }

    private void ReadAll() => _meters = [.. Enumerable.Range(0, _unit!.Tasks.Length).Select(_unit.Read)];
}
