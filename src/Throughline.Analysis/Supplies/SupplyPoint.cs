using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>One rail at one operating point. Volts above the return, amperes out of the node (negative on a negative rail), watts never negative where power is lost.</summary>
/// <param name="Supply">What feeds it.</param>
/// <param name="InputVolts">NaN for a source from outside.</param>
/// <param name="InputAmperes">NaN for a source from outside.</param>
/// <param name="OutputVolts">At the rail, V.</param>
/// <param name="CircuitAmperes">Into the drawn circuit, A.</param>
/// <param name="DrawnAmperes">Into the stated draws, A.</param>
/// <param name="SupplyAmperes">Into the supplies that it feeds, A.</param>
/// <param name="LossWatts">What the supply itself turns into heat, W.</param>
/// <param name="Headroom">Input less output less dropout, V; NaN where no dropout is stated.</param>
/// <param name="JunctionCelsius">NaN where no thermal resistance is stated.</param>
public sealed record RailPoint(
    Supply Supply,
    double InputVolts,
    double InputAmperes,
    double OutputVolts,
    double CircuitAmperes,
    double DrawnAmperes,
    double SupplyAmperes,
    double LossWatts,
    double Headroom,
    double JunctionCelsius)
{
    /// <summary>All that leaves the rail, A.</summary>
    public double OutputAmperes => CircuitAmperes + DrawnAmperes + SupplyAmperes;

    /// <summary>What a shunt regulator takes away, A, without its sign; NaN for any other kind.</summary>
    public double ShuntAmperes => Supply.IsShunt ? Math.Abs(InputAmperes) - Math.Abs(OutputAmperes) : double.NaN;

    /// <summary>Output power over input power, its own consumption counted; NaN for a source from outside.</summary>
    public double Efficiency => OutputVolts * OutputAmperes / (InputVolts * InputAmperes);
}

/// <summary>The whole tree at one operating point, and where every watt goes.</summary>
/// <param name="Conditions">In words.</param>
/// <param name="Rails">In the order of the file.</param>
/// <param name="OutsideWatts">Given by the sources from outside, W.</param>
/// <param name="OtherWatts">Given by other sources of the network: the loop's own supply, references, the output converter, the sensor; W.</param>
/// <param name="CircuitWatts">Heat in the drawn circuit, W.</param>
/// <param name="LoopWatts">Heat in the loop's load, W.</param>
/// <param name="DrawnWatts">Into the stated draws, W.</param>
/// <param name="LossWatts">Heat in the supplies, W.</param>
public sealed record SupplyPoint(
    string Conditions,
    ImmutableArray<RailPoint> Rails,
    double OutsideWatts,
    double OtherWatts,
    double CircuitWatts,
    double LoopWatts,
    double DrawnWatts,
    double LossWatts)
{
    /// <summary>What feeds the instrument, W: the sources from outside, or, on two wires, the loop.</summary>
    public double FeedingWatts => Rails.Any(r => r.Supply.Kind == SupplyKind.Loop) ? OutsideWatts + OtherWatts : OutsideWatts;

    /// <summary>What stays in the instrument as heat, W: all but what the loop's load takes.</summary>
    public double KeptWatts => CircuitWatts + DrawnWatts + LossWatts;

    /// <summary>What the sums leave over, W: 0 but for rounding.</summary>
    public double UnaccountedWatts => OutsideWatts + OtherWatts - CircuitWatts - LoopWatts - DrawnWatts - LossWatts;
}

/// <summary>The worst of one rail over all conditions.</summary>
/// <param name="Supply">Which rail.</param>
/// <param name="Amperes">Greatest current, A, without its sign.</param>
/// <param name="AmperesAt">Conditions of it in words.</param>
/// <param name="Headroom">Least headroom with the tolerances of both voltages taken off, V; NaN without a dropout.</param>
/// <param name="LossWatts">Greatest loss, W.</param>
/// <param name="JunctionCelsius">Highest junction temperature, °C; NaN without a thermal resistance.</param>
public sealed record RailWorst(
    Supply Supply,
    double Amperes,
    string AmperesAt,
    double Headroom,
    string HeadroomAt,
    double LossWatts,
    string LossAt,
    double JunctionCelsius,
    string JunctionAt)
{
    /// <summary>Lowest and highest voltage at its input over the conditions, V; NaN for a source from outside.</summary>
    public double InputLow { get; init; } = double.NaN;

    public double InputHigh { get; init; } = double.NaN;

    /// <summary>Least and greatest current that a shunt regulator takes away over the conditions, tolerances of its feed and voltage counted, A; NaN for any other kind.</summary>
    public double ShuntLow { get; init; } = double.NaN;

    public double ShuntHigh { get; init; } = double.NaN;

    /// <summary>Conditions of the least one in words.</summary>
    public string ShuntLowAt { get; init; } = "";
}
