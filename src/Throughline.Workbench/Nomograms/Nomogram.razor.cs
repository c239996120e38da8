using System.Text;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;
using Throughline.Workbench.Parts;
using Throughline.Workbench.Server;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Nomograms;

/// <summary>Draws the chain and lets the hand move along the measurand.</summary>
public sealed partial class Nomogram : ComponentBase, IAsyncDisposable
{
    private ElementReference _svg;
    private double _width = 760;
    private double _height = 500;
    private int _looked = -1;
    private IJSObjectReference? _module;
    private IJSObjectReference? _hand;
    private DotNetObjectReference<Nomogram>? _self;

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

    private NomogramLayout Layout { get; set; } = null!;

    /// <summary>Called by the page while the hand moves.</summary>
    [JSInvokable]
    public void MoveTo(double measurand) => Session.MoveTo(measurand);

    /// <summary>Called by the page when there is more or less room.</summary>
    [JSInvokable]
    public void Resize(double width, double height)
    {
        if (width is > 200 and < 10_000 && height is > 150 and < 10_000)
        {
            (_width, _height) = (width, height);
            Layout = NomogramLayout.Create(State, Followed, _width, _height);
            StateHasChanged();
        }
    }

    public async ValueTask DisposeAsync()
    {
        try
        {
            if (_hand is not null)
            {
                await _hand.InvokeVoidAsync("stop");
                await _hand.DisposeAsync();
            }

            if (_module is not null)
            {
                await _module.DisposeAsync();
            }
        }
        catch (JSDisconnectedException)
        {
            // The page is gone, and with it what was there to stop.
        }

        _self?.Dispose();
    }

    protected override void OnParametersSet() => Layout = NomogramLayout.Create(State, Followed, _width, _height);

    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (firstRender)
        {
            _self = DotNetObjectReference.Create(this);
            _module = await Browser.InvokeAsync<IJSObjectReference>("import", PageFiles.AddressOf("nomogram.js"));
            _hand = await _module.InvokeAsync<IJSObjectReference>("start", _svg, _self);
        }
    }

    private void Look(int index) => _looked = index;

    private string Path(Func<PlacedScale, double> y)
    {
        StringBuilder path = new();
        bool isDown = false;
        foreach (PlacedScale scale in Layout.Scales)
        {
            double at = y(scale);
            if (double.IsNaN(at))
            {
                isDown = false;
                continue;
            }

            path.Append(isDown ? 'L' : 'M').Append(Words.Px(scale.X)).Append(',').Append(Words.Px(at));
            isDown = true;
        }

        return path.ToString();
    }

    /// <summary>The band about the line; null while it is being found.</summary>
    private string? Band()
    {
        PlacedScale[] scales = [.. Layout.Scales.Where(s => !double.IsNaN(s.BandTop))];
        if (scales.Length < 2)
        {
            return null;
        }

        IEnumerable<string> there = scales.Select(s => $"{Words.Px(s.X)},{Words.Px(s.BandTop)}");
        IEnumerable<string> back = scales.Reverse().Select(s => $"{Words.Px(s.X)},{Words.Px(s.BandBottom)}");
        return "M" + string.Join('L', there.Concat(back)) + "Z";
    }

    private static string LabelOf(PlacedScale scale) =>
        $"{Words.Named(scale.Scale.Name, scale.Scale.Shown.ShownUnit)}{Words.ValueWithUnit(scale.Scale.Shown, scale.Value)}, intended {Words.ValueWithUnit(scale.Scale.Shown, scale.Intended)}"
        + (scale.IsNotMet ? ", a check of this stage is not met" : "");
}
