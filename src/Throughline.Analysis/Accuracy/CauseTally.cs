using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>
/// What makes each reading scatter: each of some units is lived again with one contribution exchanged against another unit's at a time. Tallies of the same
/// plan can be merged in any order. One thread per instance.
/// </summary>
internal sealed class CauseTally
{
    /// <summary>Ends the name of the random stream of the other unit.</summary>
    public const string Other = "′";

    private readonly LifePlan _plan;
    private readonly ImmutableArray<int> _tests;
    private readonly VarianceShareSums[] _sums;

    public CauseTally(LifePlan plan)
    {
        _plan = plan;
        _tests = [.. Enumerable.Range(0, plan.Tests.Length).Where(t => plan.Tests[t].Moment is Moment.Calibrated or Moment.InUse)];

        // One more than the contributions: the noise, all of it together.
        _sums = [.. Enumerable.Range(0, _tests.Length * plan.Points.Length * 2).Select(_ => new VarianceShareSums(plan.Contributions.Length + 1, 0))];
    }

    /// <summary>Lives one unit with every contribution exchanged in turn.</summary>
    /// <param name="own">The unit's draws, contribution by contribution, then those of noise.</param>
    /// <param name="other">Another unit's.</param>
    public void Add(UnitLife life, ReadOnlySpan<double> own, ReadOnlySpan<double> other)
    {
        int inputs = _plan.Contributions.Length + 1;
        int lives = inputs + 2;
        double[] results = new double[_sums.Length * lives];
        for (int done = 0; done < lives; done += life.Lanes)
        {
            int count = Math.Min(life.Lanes, lives - done);
            for (int lane = 0; lane < count; lane++)
            {
                // Lane by lane: the unit, the other one, then the unit with one contribution of the other.
                int number = done + lane;
                life.Place(lane, number == 1 ? other : own, other, number - 2);
            }

            life.Live(count);
            for (int r = 0; r < _sums.Length; r++)
            {
                ReadOnlySpan<double> row = Reading(life, r);
                for (int lane = 0; lane < count; lane++)
                {
                    results[(r * lives) + done + lane] = row[lane];
                }
            }
        }

        for (int r = 0; r < _sums.Length; r++)
        {
            ReadOnlySpan<double> of = results.AsSpan(r * lives, lives);
            bool isWhole = true;
            foreach (double value in of)
            {
                isWhole &= double.IsFinite(value);
            }

            // A unit without a reading in any of its lives says nothing about causes.
            if (isWhole)
            {
                _sums[r].Add(of[0], of[1], of[2..]);
            }
        }
    }

    public void Add(CauseTally other)
    {
        for (int i = 0; i < _sums.Length; i++)
        {
            _sums[i].Add(other._sums[i]);
        }
    }

    public void Write(BinaryWriter writer)
    {
        foreach (VarianceShareSums sums in _sums)
        {
            sums.Write(writer);
        }
    }

    /// <exception cref="InvalidDataException">It is something else than a tally of this plan.</exception>
    public static CauseTally Read(LifePlan plan, BinaryReader reader)
    {
        CauseTally read = new(plan);
        foreach (VarianceShareSums sums in read._sums)
        {
            sums.Add(VarianceShareSums.Read(reader));
        }

        return read;
    }

    /// <summary>The causes of every reading that scatters, the greatest total share first.</summary>
    public ImmutableArray<BatchCauses> Report()
    {
        ImmutableArray<BatchCauses>.Builder all = ImmutableArray.CreateBuilder<BatchCauses>();
        for (int r = 0; r < _sums.Length; r++)
        {
            VarianceShareSums sums = _sums[r];
            if (sums.Count < 2 || !(sums.Variance > 0))
            {
                continue;
            }

            (int test, int point, BudgetOutput place) = Where(r);
            all.Add(new BatchCauses(
                _plan.Tests[test].Moment,
                _plan.Points[point],
                place,
                Math.Sqrt(sums.Variance),
                [
                    .. Enumerable.Range(0, _plan.Contributions.Length + 1)
                        .Select(i => new VarianceShare(
                            i < _plan.Contributions.Length ? _plan.Contributions[i].Name : "noise", sums.First(i), double.NaN, sums.Total(i), double.NaN))
                        .OrderByDescending(s => s.Total),
                ]));
        }

        return all.ToImmutable();
    }

    private (int Test, int Point, BudgetOutput Place) Where(int reading) =>
        (_tests[reading / 2 / _plan.Points.Length], reading / 2 % _plan.Points.Length, reading % 2 == 0 ? BudgetOutput.Display : BudgetOutput.Loop);

    private ReadOnlySpan<double> Reading(UnitLife life, int reading)
    {
        (int test, int point, BudgetOutput place) = Where(reading);
        return place == BudgetOutput.Display ? life.DisplayErrors(test, point) : life.LoopErrors(test, point);
    }
}
