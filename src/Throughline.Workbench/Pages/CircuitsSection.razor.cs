using System.Collections.Immutable;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Papers;
using Throughline.Workbench.Charts;

namespace Throughline.Workbench.Pages;

/// <summary>The circuits of an instrument, stage by stage.</summary>
public sealed partial class CircuitsSection : FollowingSection<CircuitContent>
{
    private string? _stage;
    private string? _effect;
    private string? _faultStage;

    /// <summary>The stage that the address names; null for the first.</summary>
    [SupplyParameterFromQuery]
    public string? Stage { get; set; }

    private IEnumerable<CircuitStage> Stages => Followed.Instrument.Stages.OfType<CircuitStage>().Where(s => !s.Parts.IsEmpty);

    private CircuitStage Shown => Stages.FirstOrDefault(s => s.Name.Value == (_stage ?? Stage)) ?? Stages.First();

    /// <summary>Parts that a finding which is not met speaks of.</summary>
    private HashSet<string> Accused => [.. State.Review?.Findings.Where(f => f.Outcome == Outcome.NotMet).Select(f => f.Subject) ?? []];

    protected override CircuitContent Find(Instrument instrument, CancellationToken cancel)
    {
        ImmutableDictionary<(string Stage, string Part), ImmutableArray<Fact>> facts = FileFacts.Of(instrument.Source)
            .Select(f => (Fact: f, Steps: f.Path.Split(" / ")))
            .Where(f => f.Steps is ["stages", _, "parts", _, ..])
            .GroupBy(f => (Stage: f.Steps[1], Part: f.Steps[3]), f => f.Fact)
            .ToImmutableDictionary(g => g.Key, g => g.ToImmutableArray());
        ResponseReport? response = Reviewer.ResponseToDraw(instrument);
        cancel.ThrowIfCancellationRequested();
        LiveChain chain = LiveChain.Of(instrument);
        ImmutableSortedDictionary<string, double> volts = chain.Read(instrument.Specification.Range.Middle, chain.Reference).Nodes;
        return new CircuitContent(facts, response, Reviewer.Faults(instrument))
        {
            Layouts = instrument.Stages.OfType<CircuitStage>().Where(s => !s.Parts.IsEmpty).ToImmutableDictionary(s => s.Name.Value, s => CircuitLayout.Of(s, volts, CircuitLayout.RailsOf(instrument))),
        };
    }

    private IEnumerable<FaultRow> OfStage(CircuitContent found) => found.Faults.Rows.Where(r => string.IsNullOrEmpty(_faultStage) || r.Stage == _faultStage);

    private static string Seconds(double seconds) => double.IsNaN(seconds) ? "—" : Engineering.Duration(seconds);

    /// <summary>More is no figure of a real circuit.</summary>
    private static string Decibel(double decibel) => double.IsNaN(decibel) ? "—" : decibel >= 140 ? "more than " + Engineering.Fixed(140, 0, "dB") : Engineering.Fixed(decibel, 0, "dB");

    /// <summary>How a mains frequency is attenuated, and how at least within a hertz of it where that is less.</summary>
    private static string Mains(double hertz, double decibel, double least) =>
        $"{Engineering.Format(hertz, "Hz")} attenuated by {Decibel(decibel)}" + (decibel - least >= 1 ? $", from {Engineering.Fixed(hertz - 1, 0)} to {Engineering.Format(hertz + 1, "Hz")} by at least {Decibel(least)}" : "");

    private static string WordOf(FaultEffect effect) => effect switch
    {
        FaultEffect.Hidden => "hidden, a wrong value that looks right",
        FaultEffect.Undefined => "not decided",
        FaultEffect.AtLimit => "at an end",
        FaultEffect.Signalled => "signalled",
        _ => "harmless",
    };

    private static ChartContent GainOf(ResponseCurve curve)
    {
        const double Least = -120;
        return new ChartContent("Gain from the measurand to the converter against direct current, dB", new ChartAxis("Hz", IsLogarithmic: true), new ChartAxis("dB", Least, 5))
        {
            Lines =
            [
                new ChartLine([.. curve.Frequencies.Select(f => (f.Hertz, Math.Max(Least, f.Decibel)))], ChartLineKind.Other),
                new ChartLine([.. curve.Frequencies.Select(f => (f.Hertz, Math.Max(Least, f.WithAveraging)))]),
            ],
        };
    }

    private static ChartContent Phase(ResponseCurve curve) => new("Phase from the measurand to the converter, degrees", new ChartAxis("Hz", IsLogarithmic: true), new ChartAxis("degrees"))
    {
        Lines = [new ChartLine(Unwrapped(curve.Frequencies.Where(f => double.IsFinite(f.Degrees))))],
    };

    /// <summary>Degrees without the jumps of whole turns.</summary>
    private static ImmutableArray<(double X, double Y)> Unwrapped(IEnumerable<FrequencyPoint> points)
    {
        ImmutableArray<(double X, double Y)>.Builder curve = ImmutableArray.CreateBuilder<(double X, double Y)>();
        double turns = 0;
        double last = double.NaN;
        foreach (FrequencyPoint point in points)
        {
            if (!double.IsNaN(last))
            {
                turns -= Math.Round((point.Degrees - last) / 360);
            }

            last = point.Degrees;
            curve.Add((point.Hertz, point.Degrees + (360 * turns)));
        }

        return curve.ToImmutable();
    }

    private static ChartContent StepOf(ResponseReport response) => new("Share of a step of the measurand, over time", new ChartAxis("s"), new ChartAxis("", 0, 1.08))
    {
        Lines =
        [
            new ChartLine([.. response.Step.Select(s => (s.Seconds, s.Converter))], ChartLineKind.Other),
            new ChartLine([.. response.Step.Where(s => !double.IsNaN(s.Reading)).Select(s => (s.Seconds, s.Reading))]),
        ],
        Limits = [new ChartLimit(0.9, false, "", IsStrong: false)],
    };
}
