using System.Collections.Immutable;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>
/// One network of an instrument with some meters on it, solved for a block of units. A lane's readings follow from that lane alone: neither its neighbours
/// nor its place in the block show. One per thread.
/// </summary>
internal abstract class Station
{
    private readonly double[] _readings;

    protected Station(int meters, int lanes)
    {
        Lanes = lanes;
        _readings = new double[meters * lanes];
    }

    public int Lanes { get; }

    /// <summary>What a meter read in each unit at the last <see cref="Solve"/>; NaN for a unit without an operating point.</summary>
    public Span<double> Reading(int meter) => _readings.AsSpan(meter * Lanes, Lanes);

    /// <summary>Takes over what stays while a unit stands at one ambient temperature with its trimmers where they are: call it after any change of parameters,
    /// ambient temperature, age or of a trimmer that is not the station's own.</summary>
    public abstract void Prepare(UnitState block, int count);

    /// <summary>Solves the first units of the block as they are now.</summary>
    public abstract void Solve(UnitState block, int count);
}

/// <summary>Solves unit by unit with the full solver.</summary>
internal sealed class FullStation(NetworkRun run, ImmutableArray<Reading> meters, int lanes, bool limited) : Station(meters.Length, lanes)
{
    public override void Prepare(UnitState block, int count)
    {
    }

    public override void Solve(UnitState block, int count)
    {
        for (int lane = 0; lane < count; lane++)
        {
            SolveLane(block, lane);
        }
    }

    /// <summary>Solves one unit.</summary>
    public void SolveLane(UnitState block, int lane)
    {
        block.Lane = lane;
        bool isSolved = run.Solve(block, limited).Status == SolveStatus.Solved;
        for (int m = 0; m < meters.Length; m++)
        {
            Reading(m)[lane] = isSolved ? run.Read(meters[m], block) : double.NaN;
        }
    }
}
