namespace Throughline.Analysis;

/// <summary>
/// Everything that a batch has counted, in memory that does not grow with the units. Tallies of the same plan can be merged in any order: the figures have the
/// same bits as after one run. One thread per instance.
/// </summary>
internal sealed class BatchTally
{
    /// <summary>Independent sets of quasi-random units: their scatter is the confidence that one set can't give.</summary>
    public const int Replicates = 8;

    /// <summary>Rounds of the adjustment that are told apart; the last is so many or more.</summary>
    public const int MostRounds = AdjustmentPlan.MostRounds;

    private const int WorstKept = 10;

    private readonly LifePlan _plan;
    private readonly StreamingStatistics[] _display;
    private readonly StreamingStatistics[] _loop;
    private readonly StreamingStatistics[] _positions;
    private readonly StreamingStatistics _zero;
    private readonly StreamingStatistics _slope;
    private readonly long[] _withinDisplay;
    private readonly long[] _withinLoop;
    private readonly long[] _reached;
    private readonly long[] _rounds = new long[MostRounds];
    private readonly long[] _outcomes = new long[Enum.GetValues<CalibrationVerdict>().Length];
    private readonly ExactSum[] _replicateSums;
    private readonly long[] _replicateCounts;
    private readonly long[] _replicateGood = new long[Replicates];
    private readonly long[] _replicateUnits = new long[Replicates];

    public BatchTally(LifePlan plan)
    {
        _plan = plan;
        int readings = plan.Tests.Length * plan.Points.Length;
        double displayScale = Scale(plan.DisplayLimit, plan.Model.Instrument.Specification.Range.Width);
        double loopScale = Scale(plan.LoopLimit, plan.LoopSpan);
        _display = [.. Enumerable.Range(0, readings).Select(_ => new StreamingStatistics(0, displayScale))];
        _loop = [.. Enumerable.Range(0, readings).Select(_ => new StreamingStatistics(0, loopScale))];
        _positions = [.. plan.Model.Trimmers.Select(_ => new StreamingStatistics(0.5, 0.1))];
        _zero = new StreamingStatistics(0, plan.ZeroScale);
        _slope = new StreamingStatistics(1, 0.01);
        _withinDisplay = new long[plan.Tests.Length];
        _withinLoop = new long[plan.Tests.Length];
        _reached = new long[plan.Model.Instrument.Adjustment.Length];
        _replicateSums = [.. Enumerable.Range(0, Replicates * plan.Points.Length * 2).Select(_ => new ExactSum())];
        _replicateCounts = new long[_replicateSums.Length];
        Worst = new WorstUnits(WorstKept);
    }

    /// <summary>Units counted.</summary>
    public long Units { get; private set; }

    /// <summary>Units that could be adjusted, whose calibration was accepted, and that stayed within every limit of error from the calibration on.</summary>
    public long Good { get; private set; }

    /// <summary>Units whose every step of the adjustment reached its target.</summary>
    public long Adjusted { get; private set; }

    /// <summary>Units by how large their greatest error from the calibration on is, over its limit.</summary>
    public WorstUnits Worst { get; private set; }

    public StreamingStatistics Display(int test, int point) => _display[(test * _plan.Points.Length) + point];

    public StreamingStatistics Loop(int test, int point) => _loop[(test * _plan.Points.Length) + point];

    public StreamingStatistics Position(int trimmer) => _positions[trimmer];

    /// <summary>Zeros found by the calibrations, in the unit in which the plan counts them.</summary>
    public StreamingStatistics Zero => _zero;

    /// <summary>Slopes found by the calibrations, over the nominal one.</summary>
    public StreamingStatistics Slope => _slope;

    /// <summary>Units whose display was within its limit at every point of a test.</summary>
    public long WithinDisplay(int test) => _withinDisplay[test];

    public long WithinLoop(int test) => _withinLoop[test];

    /// <summary>Units in which a step of the adjustment reached its target and kept it.</summary>
    public long Reached(int step) => _reached[step];

    /// <summary>Units that needed so many rounds, 1 to <see cref="MostRounds"/>.</summary>
    public long Rounds(int rounds) => _rounds[rounds - 1];

    public long Outcome(CalibrationVerdict outcome) => _outcomes[(int)outcome];

    /// <summary>The standard error of the mean error in use at a point, from the scatter of the replicates; NaN when a replicate is empty.</summary>
    public double ReplicateErrorOfMean(int point, bool atLoop)
    {
        Span<double> means = stackalloc double[Replicates];
        for (int r = 0; r < Replicates; r++)
        {
            int at = ReplicateIndex(r, point, atLoop);
            means[r] = _replicateSums[at].Round() / _replicateCounts[at];
        }

        return ErrorOf(means);
    }

    /// <summary>The standard error of the share of good units, from the scatter of the replicates.</summary>
    public double ReplicateErrorOfYield()
    {
        Span<double> shares = stackalloc double[Replicates];
        for (int r = 0; r < Replicates; r++)
        {
            shares[r] = (double)_replicateGood[r] / _replicateUnits[r];
        }

        return ErrorOf(shares);
    }

    /// <summary>Counts the units that a life has just been through.</summary>
    /// <param name="first">Number of the first.</param>
    public void Add(UnitLife life, long first, int count, int replicate)
    {
        Units += count;
        AddReadings(life, first, count);
        for (int t = 0; t < _positions.Length; t++)
        {
            _positions[t].Add(first, life.Block.PositionsOf(t)[..count]);
        }

        for (int lane = 0; lane < count; lane++)
        {
            AddUnit(life, first + lane, lane, replicate);
        }

        int inUse = _plan.Tests.Length - 1;
        for (int p = 0; p < _plan.Points.Length; p++)
        {
            AddReplicate(ReplicateIndex(replicate, p, atLoop: false), life.DisplayErrors(inUse, p)[..count]);
            AddReplicate(ReplicateIndex(replicate, p, atLoop: true), life.LoopErrors(inUse, p)[..count]);
        }
    }

    /// <summary>Takes in what another tally of the same plan has counted.</summary>
    public void Add(BatchTally other)
    {
        Units += other.Units;
        Good += other.Good;
        Adjusted += other.Adjusted;
        Worst.Add(other.Worst);
        Merge(_display, other._display);
        Merge(_loop, other._loop);
        Merge(_positions, other._positions);
        _zero.Add(other._zero);
        _slope.Add(other._slope);
        foreach ((long[] mine, long[] theirs) in Counts().Zip(other.Counts()))
        {
            for (int i = 0; i < mine.Length; i++)
            {
                mine[i] += theirs[i];
            }
        }

        for (int i = 0; i < _replicateSums.Length; i++)
        {
            _replicateSums[i].Add(other._replicateSums[i]);
        }

        static void Merge(StreamingStatistics[] mine, StreamingStatistics[] theirs)
        {
            for (int i = 0; i < mine.Length; i++)
            {
                mine[i].Add(theirs[i]);
            }
        }
    }

    /// <summary>Writes the counts; equal tallies write equal bytes.</summary>
    public void Write(BinaryWriter writer)
    {
        writer.Write(Units);
        writer.Write(Good);
        writer.Write(Adjusted);
        Worst.Write(writer);
        foreach (StreamingStatistics statistics in Statistics())
        {
            statistics.Write(writer);
        }

        foreach (long[] counts in Counts())
        {
            foreach (long count in counts)
            {
                writer.Write(count);
            }
        }

        foreach (ExactSum sum in _replicateSums)
        {
            sum.Write(writer);
        }
    }

    /// <summary>Reads what <see cref="Write"/> wrote for the same plan.</summary>
    /// <exception cref="InvalidDataException">It is something else.</exception>
    /// <exception cref="EndOfStreamException">It ends too early.</exception>
    public static BatchTally Read(LifePlan plan, BinaryReader reader)
    {
        BatchTally read = new(plan)
        {
            Units = reader.ReadInt64(),
            Good = reader.ReadInt64(),
            Adjusted = reader.ReadInt64(),
            Worst = WorstUnits.Read(reader),
        };
        foreach (StreamingStatistics statistics in read.Statistics())
        {
            statistics.Add(StreamingStatistics.Read(reader));
        }

        foreach (long[] counts in read.Counts())
        {
            for (int i = 0; i < counts.Length; i++)
            {
                counts[i] = reader.ReadInt64();
            }
        }

        foreach (ExactSum sum in read._replicateSums)
        {
            sum.Add(ExactSum.Read(reader));
        }

        return read;
    }

    private IEnumerable<StreamingStatistics> Statistics() => [.. _display, .. _loop, .. _positions, _zero, _slope];

    private long[][] Counts() =>
        [_withinDisplay, _withinLoop, _reached, _rounds, _outcomes, _replicateCounts, _replicateGood, _replicateUnits];

    private int ReplicateIndex(int replicate, int point, bool atLoop) => (((replicate * _plan.Points.Length) + point) * 2) + (atLoop ? 1 : 0);

    private void AddReplicate(int index, ReadOnlySpan<double> errors)
    {
        foreach (double error in errors)
        {
            if (double.IsFinite(error))
            {
                _replicateSums[index].Add(error);
                _replicateCounts[index]++;
            }
        }
    }

    private void AddReadings(UnitLife life, long first, int count)
    {
        for (int t = 0; t < _plan.Tests.Length; t++)
        {
            for (int p = 0; p < _plan.Points.Length; p++)
            {
                Display(t, p).Add(first, life.DisplayErrors(t, p)[..count]);
                Loop(t, p).Add(first, life.LoopErrors(t, p)[..count]);
            }
        }
    }

    private void AddUnit(UnitLife life, long unit, int lane, int replicate)
    {
        bool isAdjusted = true;
        for (int s = 0; s < _reached.Length; s++)
        {
            bool reached = life.Reached(s)[lane];
            _reached[s] += reached ? 1 : 0;
            isAdjusted &= reached;
        }

        Adjusted += isAdjusted ? 1 : 0;
        if (_reached.Length > 0)
        {
            _rounds[Math.Clamp(life.Rounds[lane], 1, MostRounds) - 1]++;
        }

        CalibrationVerdict outcome = life.Verdicts[lane];
        _outcomes[(int)outcome]++;
        if (_plan.HasCalibration)
        {
            _zero.Add(unit, life.Zeros[lane]);
            _slope.Add(unit, life.Slopes[lane]);
        }

        double worst = 0;
        for (int t = 0; t < _plan.Tests.Length; t++)
        {
            double display = 0;
            double loop = 0;
            for (int p = 0; p < _plan.Points.Length; p++)
            {
                display = _plan.HasDisplay ? Greater(display, life.DisplayErrors(t, p)[lane]) : 0;
                loop = _plan.HasLoop ? Greater(loop, life.LoopErrors(t, p)[lane]) : 0;
            }

            // Written so that a unit without a reading is not within its limit.
            _withinDisplay[t] += !(display > _plan.DisplayLimit) && !double.IsNaN(display) ? 1 : 0;
            _withinLoop[t] += !(loop > _plan.LoopLimit) && !double.IsNaN(loop) ? 1 : 0;
            if (_plan.Tests[t].Moment >= Moment.Calibrated)
            {
                worst = Greater(worst, double.IsNaN(_plan.DisplayLimit) ? 0 : display / _plan.DisplayLimit);
                worst = Greater(worst, double.IsNaN(_plan.LoopLimit) ? 0 : loop / _plan.LoopLimit);
            }
        }

        Worst.Add(unit, worst);
        bool isGood = isAdjusted && outcome == CalibrationVerdict.Accepted && worst <= 1;
        Good += isGood ? 1 : 0;
        _replicateGood[replicate] += isGood ? 1 : 0;
        _replicateUnits[replicate]++;
    }

    /// <summary>The greater size; NaN when either is.</summary>
    private static double Greater(double greatest, double error) => double.IsNaN(greatest) || double.IsNaN(error) ? double.NaN : Math.Max(greatest, Math.Abs(error));

    private static double Scale(double limit, double span) => limit > 0 ? limit : span > 0 ? span / 1000 : 1;

    private static double ErrorOf(ReadOnlySpan<double> values)
    {
        double mean = 0;
        foreach (double v in values)
        {
            mean += v / values.Length;
        }

        double squares = 0;
        foreach (double v in values)
        {
            squares += (v - mean) * (v - mean);
        }

        return Math.Sqrt(squares / (values.Length - 1) / values.Length);
    }
}
