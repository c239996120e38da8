namespace Throughline.Circuits;

/// <summary>A step with the places of its operands: each a row with one number for every lane.</summary>
internal readonly record struct TapeInstruction(TapeOp Op, int Target, int A, int B, int C);

/// <summary>Steps of one phase and the instructions they became, and the iteration that they are when they are one.</summary>
internal sealed record TapePhase(int Phase, int[] Steps, TapeInstruction[] Instructions, TapeIteration? Iteration);

/// <summary>
/// A tape without what nobody needs, its steps gathered by phase and its numbers given rows. Rows of numbers that live within one phase are used again. Immutable.
/// </summary>
internal sealed class TapeCode
{
    private readonly CompiledTape _source;
    private readonly Tape _tape;
    private readonly int[] _rowOf;
    private readonly int[] _lastUse;
    private readonly bool[] _isKept;
    private readonly bool[] _isRead;
    private readonly int[] _stepOfInput;
    private readonly Dictionary<int, int> _place = [];
    private readonly List<(int Row, double Value)> _constants = [];
    private readonly Stack<int> _free = new();

    public TapeCode(CompiledTape source)
    {
        _source = source;
        _tape = source.Tape;
        _rowOf = new int[_tape.Count];
        Array.Fill(_rowOf, -1);
        _lastUse = new int[_tape.Count];
        _isKept = new bool[_tape.Count];
        _isRead = new bool[_tape.Count];
        _isRead[source.Settled.Index] = true;
        foreach (Expr reading in source.Readings)
            _isRead[reading.Index] = true;
        _stepOfInput = new int[source.InputCount];
        bool[] isLive = FindLive();
        int[] steps = [.. Enumerable.Range(0, _tape.Count).Where(step => isLive[step])
            .OrderBy(step => _tape[step].Phase).ThenBy(static step => step)];
        FindLifetimes(steps);
        RowOfInput = new int[source.InputCount];
        Array.Fill(RowOfInput, -1);
        foreach (int step in steps)
        {
            if (_tape[step].Op is not (TapeOp.Input or TapeOp.Constant))
                continue;
            _rowOf[step] = RowCount++;
            if (_tape[step].Op == TapeOp.Input)
            {
                RowOfInput[_tape[step].Payload] = _rowOf[step];
                _stepOfInput[_tape[step].Payload] = step;
            }
            else
            {
                _constants.Add((_rowOf[step], BitConverter.Int64BitsToDouble(_tape[step].Payload)));
            }
        }

        var phases = new List<TapePhase>();
        foreach (IGrouping<int, int> phase in steps.GroupBy(step => _tape[step].Phase))
        {
            if (phase.Key > 0)
                phases.Add(Lower(phase.Key, [.. phase]));
        }

        Phases = [.. phases];
        SettledRow = _rowOf[source.Settled.Index];
        ReadingRows = [.. source.Readings.Select(reading => _rowOf[reading.Index])];
    }

    public int RowCount { get; private set; }

    public TapePhase[] Phases { get; }

    public IReadOnlyList<(int Row, double Value)> Constants => _constants;

    /// <summary>Row of each input; −1 when nothing depends on it.</summary>
    public int[] RowOfInput { get; }

    public int SettledRow { get; }

    public int[] ReadingRows { get; }

    public Tape Tape => _tape;

    public int RowOf(int step) => _rowOf[step];

    public int StepOfInput(int input) => _stepOfInput[input];

    /// <summary>Whether a number is wanted after the call that computes it: one that is read, or one that a later call goes on from.</summary>
    public bool IsStored(int step) => _isRead[step] || (_isKept[step] && _tape[step].Phase <= BatchEquations.Changing);

    private IEnumerable<int> Operands(int step)
    {
        TapeStep s = _tape[step];
        if (s.A >= 0)
            yield return s.A;
        if (s.B >= 0)
            yield return s.B;
        if (s.C >= 0)
            yield return s.C;
    }

    private bool[] FindLive()
    {
        var isLive = new bool[_tape.Count];
        var queue = new Stack<int>();
        void Need(int step, bool isKept)
        {
            _isKept[step] |= isKept;
            if (isLive[step])
                return;
            isLive[step] = true;
            queue.Push(step);
        }

        foreach (Expr reading in _source.Readings)
            Need(reading.Index, true);
        Need(_source.Settled.Index, true);
        foreach (TapeIteration iteration in _source.Iterations)
        {
            Need(iteration.Settled, true);
            foreach (TapePoint point in iteration.Points)
                Need(point.Next, true);
        }

        while (queue.TryPop(out int step))
        {
            foreach (int operand in Operands(step))
                Need(operand, false);
        }

        return isLive;
    }

    /// <summary>What is used in a later phase than its own keeps its row.</summary>
    private void FindLifetimes(int[] steps)
    {
        for (int place = 0; place < steps.Length; place++)
        {
            int step = steps[place];
            foreach (int operand in Operands(step))
            {
                _lastUse[operand] = place;
                _isKept[operand] |= _tape[operand].Phase < _tape[step].Phase;
            }

            _lastUse[step] = Math.Max(_lastUse[step], place);
        }

        for (int place = 0; place < steps.Length; place++)
            _place[steps[place]] = place;
    }

    private TapePhase Lower(int phase, int[] steps)
    {
        var instructions = new List<TapeInstruction>(steps.Length);
        foreach (int step in steps)
        {
            TapeStep s = _tape[step];
            if (s.Op == TapeOp.Input)
                continue;
            // Operands that end here give their row to the result: every instruction reads its operands before it writes.
            foreach (int operand in Operands(step).Distinct())
            {
                if (!_isKept[operand] && _tape[operand].Phase == phase && _tape[operand].Op != TapeOp.Input && _lastUse[operand] == _place[step])
                    _free.Push(_rowOf[operand]);
            }

            _rowOf[step] = !_isKept[step] && _free.TryPop(out int row) ? row : RowCount++;
            instructions.Add(new TapeInstruction(s.Op, _rowOf[step], Row(s.A), Row(s.B), Row(s.C)));
        }

        return new TapePhase(phase, [.. steps.Where(step => _tape[step].Op != TapeOp.Input)], [.. instructions], _source.Iterations.FirstOrDefault(iteration => iteration.Phase == phase));
    }

    private int Row(int step) => step < 0 ? 0 : _rowOf[step];
}
