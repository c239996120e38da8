using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A check of the output that is worded for one kind of it, and applies to instruments that have it: it stands in the list once for currents and once for voltages.</summary>
internal abstract class OutputCheck(OutputSignal signal) : Check
{
    protected OutputSignal Signal => signal;

    public sealed override IEnumerable<Finding> Run(CheckContext context) => context.Instrument.Loop is { } loop && loop.Signal == signal ? Run(context, loop) : [];

    /// <param name="loop">The instrument's output, of the kind that this check is of.</param>
    protected abstract IEnumerable<Finding> Run(CheckContext context, Loop loop);

    /// <summary>A value of the output in words.</summary>
    protected string Value(double value, int? digits = null, bool signed = false) =>
        digits is { } d ? Engineering.Format(value, signal.Unit, d, signed) : Engineering.Format(value, signal.Unit);

    protected Figure Figure(string name, double value) => new(name, value, signal.Unit);
}
