using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What the output gives in one state of the instrument.</summary>
/// <param name="Name">Such as <c>sensor broken</c>.</param>
/// <param name="Code">What the output converter is given; null where it is that of before.</param>
/// <param name="Value">The nominal, adjusted unit's output at that code, A or V; NaN where there is no code.</param>
/// <param name="Because">How the code comes about.</param>
public sealed record OutputState(string Name, long? Code, double Value, string Because)
{
    /// <summary>Every state that is not plain measuring, and the ends of that; empty without a panel, a loop or an output converter.</summary>
    public static ImmutableArray<OutputState> Of(Instrument instrument)
    {
        if (PanelProgram.Of(instrument) is not { Output: { } line } program || instrument.Loop is not { } loop || program.Arithmetic.OutputCode is not { } measured)
        {
            return [];
        }

        string noun = loop.Signal.Noun;
        SimulatedUnit unit = new(instrument);
        long? failure = PanelEngine.FailureSteps(program);
        string failureIs = failure is null ? $"the file has no failure {noun}: as measured" : $"the failure {noun}";
        double under = loop.Under?.Value ?? loop.Scale.Min(p => p.To.Value);
        double over = loop.Over?.Value ?? loop.Scale.Max(p => p.To.Value);
        ImmutableArray<OutputState>.Builder states = ImmutableArray.CreateBuilder<OutputState>();
        Add("starting up", PanelEngine.StartSteps(program), failure is null ? $"the least {noun} of measuring, until the first reading" : $"the failure {noun}, until the first reading");
        Add("measuring, least", Math.Max((long)measured.Low, line.NearestSteps(under)), "below the range no less is given");
        Add("measuring, greatest", Math.Min((long)measured.High, line.NearestSteps(over)), "above the range no more is given");
        Add("sensor broken", failure, failureIs);
        if (SettingsLayout.Of(instrument) is not null)
        {
            Add("memory corrupt", failure, failureIs);
        }

        if (program.EntryOf(PanelSource.TestCurrent) is >= 0 and int entry && program.Screens.Any(s => s.Loop == PanelLoop.Test))
        {
            Add("output test, least", line.StepsOf(program.Entries[entry].Low), "as entered");
            Add("output test, greatest", line.StepsOf(program.Entries[entry].High), "as entered");
        }

        if (program.OutputTrim is { } trimmed && program.HasTrimScreens)
        {
            Add($"trim, lower {noun}", trimmed.LowCode * OutputTrimDesign.StepsPerCode, "given untrimmed while the meter is read");
            Add($"trim, higher {noun}", trimmed.HighCode * OutputTrimDesign.StepsPerCode, "given untrimmed while the meter is read");
        }

        if (program.Screens.Any(s => s.Loop == PanelLoop.Held))
        {
            Add("held", null, $"the last {noun} before, while " + string.Join(", ", program.Panel.Screens.Where(s => s.Loop == PanelLoop.Held).Select(s => s.Name.Value)) + " are shown");
        }

        return states.ToImmutable();

        void Add(string name, long? steps, string because) => states.Add(StateOf(name, steps, because));

        OutputState StateOf(string name, long? steps, string because)
        {
            // A unit that was never trimmed: the nominal one needs no trim.
            long? code = steps is { } s && program.OutputTrim is { } trim ? trim.CodeOf(s, 0, 0) : steps;
            return new OutputState(name, code, code is { } c ? unit.LoopValueOf(c) : double.NaN, because);
        }
    }
}
