using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>
/// A straight program of whole numbers. It is built node by node; with each node come the range of its numbers over all inputs (interval arithmetic: every operation is monotone in each argument,
/// so the ends of the arguments give the ends of the result) and a bound of its rounding. It can be run in two ways: with numbers of any size, and in the words of the processor.
/// </summary>
public sealed class IntegerProgram
{
    private readonly List<Node> _nodes = [];
    private readonly List<int> _inputs = [];
    private readonly int _most;
    private readonly int? _product;
    private readonly int? _sum;
    private readonly bool _truncates;

    /// <param name="mostBits">Bits of the widest word.</param>
    /// <param name="sumBits">Bits of every sum of readings; null takes the narrowest word that holds it.</param>
    /// <param name="productBits">Bits of every product; null as before.</param>
    /// <param name="truncates">Whether shifts and divisions cut off.</param>
    public IntegerProgram(int mostBits, int? sumBits = null, int? productBits = null, bool truncates = false)
    {
        _most = mostBits;
        _sum = sumBits;
        _product = productBits;
        _truncates = truncates;
    }

    /// <summary>A copy to be built on.</summary>
    public IntegerProgram(IntegerProgram begun)
        : this(begun._most, begun._sum, begun._product, begun._truncates)
    {
        _nodes.AddRange(begun._nodes);
        _inputs.AddRange(begun._inputs);
    }

    public IReadOnlyList<Node> Nodes => _nodes;

    /// <summary>Places of the inputs, in the order in which a run takes them.</summary>
    public IReadOnlyList<int> Inputs => _inputs;

    public bool Fits => _nodes.All(n => n.Fits);

    /// <summary>Bits of a product's word at most.</summary>
    public int ProductBits => _product ?? _most;

    /// <summary>What a division or a shift may be off by, of its own step: a half, or one where it is cut off.</summary>
    public double Half => _truncates ? 1 : 0.5;

    /// <param name="error">How far the number given may be from the exact value, in the unit of the value.</param>
    public Node Input(string name, Int128 low, Int128 high, double step, string unit, double error, string remark)
    {
        Node node = Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.Input,
            Low = low,
            High = high,
            Word = Word.For(low, high, _most),
            Step = step,
            Unit = unit,
            Error = error,
            Remark = remark,
        });
        _inputs.Add(node.Index);
        return node;
    }

    /// <summary>The nearest whole number to a value.</summary>
    public Node Constant(string name, double value, double step, string unit, string remark) =>
        Constant(name, (Int128)Math.Round(value / step, MidpointRounding.AwayFromZero), value, step, unit, remark);

    /// <summary>A number that stands for a value.</summary>
    public Node Constant(string name, Int128 number, double value, double step, string unit, string remark) => Add(new Node
    {
        Index = _nodes.Count,
        Name = name,
        Operation = Operation.Constant,
        Constant = number,
        Low = number,
        High = number,
        Word = Word.For(number, number, _most),
        Step = step,
        Unit = unit,
        Error = Rest(((double)number * step) - value, value),
        Remark = remark,
    });

    public Node Sum(string name, Node reading, int count, string remark) => Add(new Node
    {
        Index = _nodes.Count,
        Name = name,
        Operation = Operation.Sum,
        Arguments = [reading.Index],
        Constant = count,
        Low = reading.Low * count,
        High = reading.High * count,
        Word = Chosen(reading.Low * count, reading.High * count, _sum),
        Step = reading.Step / count,
        Unit = reading.Unit,
        Error = reading.Error,
        Remark = remark,
    });

    /// <param name="unit">Of the sum; null takes that of <paramref name="a"/>. Degrees from the ice point and kelvins add up.</param>
    public Node Add(string name, Node a, Node b, string remark, string? unit = null) => Add(new Node
    {
        Index = _nodes.Count,
        Name = name,
        Operation = Operation.Add,
        Arguments = [a.Index, b.Index],
        Low = a.Low + b.Low,
        High = a.High + b.High,
        Word = Chosen(a.Low + b.Low, a.High + b.High, a.Operation == Operation.Multiply ? _product : null),
        Step = Same(a, b),
        Unit = unit ?? a.Unit,
        Error = a.Error + b.Error,
        Remark = remark,
    });

    public Node Subtract(string name, Node a, Node b, string remark) => Add(new Node
    {
        Index = _nodes.Count,
        Name = name,
        Operation = Operation.Subtract,
        Arguments = [a.Index, b.Index],
        Low = a.Low - b.High,
        High = a.High - b.Low,
        Word = Word.For(a.Low - b.High, a.High - b.Low, _most),
        Step = Same(a, b),
        Unit = a.Unit,
        Error = a.Error + b.Error,
        Remark = remark,
    });

    public Node Multiply(string name, Node a, Node b, string unit, string remark)
    {
        (Int128 low, Int128 high) = Ends(a, b, (x, y) => x * y);
        return Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.Multiply,
            Arguments = [a.Index, b.Index],
            Low = low,
            High = high,
            Word = Chosen(low, high, _product),
            Step = a.Step * b.Step,
            Unit = unit,
            Error = (a.Size * b.Error) + (b.Size * a.Error) + (a.Error * b.Error),
            Remark = remark,
        });
    }

    public Node Shift(string name, Node a, int places, string remark)
    {
        if (places == 0)
        {
            return a;
        }

        Int128 low = Rounding.Shift(a.Low, places, _truncates);
        Int128 high = Rounding.Shift(a.High, places, _truncates);
        double step = Math.ScaleB(a.Step, places);
        return Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.Shift,
            Arguments = [a.Index],
            Constant = places,
            Low = low,
            High = high,
            Word = Word.For(low, high, _most),
            Step = step,
            Unit = a.Unit,
            Error = a.Error + (Half * step),
            Truncates = _truncates,
            Remark = remark,
        });
    }

    /// <summary>Where the divisor can be 0 the range is that of the divisors beside it: a division by zero has no result.</summary>
    public Node Divide(string name, Node a, Node b, string unit, string remark)
    {
        Node divisor = b with { Low = b.Low == 0 ? 1 : b.Low, High = b.High == 0 ? -1 : b.High };
        (Int128 low, Int128 high) = Ends(a, divisor, (x, y) => Rounding.Divide(x, y, _truncates));
        if (b.Low < 0 && b.High > 0)
        {
            Int128 most = Rounding.Divide(Int128.Max(Int128.Abs(a.Low), Int128.Abs(a.High)), Int128.Max(1, b.LeastSize), _truncates);
            (low, high) = (-most, most);
        }

        double step = a.Step / b.Step;
        double least = (double)Int128.Max(1, b.LeastSize) * b.Step;
        bool isExact = b.Low == b.High && a.Error == 0 && b.Error == 0 && Int128.Abs(b.Low) == 1;
        return Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.Divide,
            Arguments = [a.Index, b.Index],
            Low = low,
            High = high,
            Word = Word.For(low, high, _most),
            Step = step,
            Unit = unit,
            Error = isExact ? 0 : ((a.Error + (a.Size / least * b.Error)) / least) + (Half * step),
            Truncates = _truncates,
            Remark = remark,
        });
    }

    /// <param name="error">A bound of its error that is known otherwise; null takes what intervals know.</param>
    public Node Clamp(string name, Node a, Int128 low, Int128 high, string remark, double? error = null) => a.Low >= low && a.High <= high && !(error < a.Error)
        ? a
        : Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.Clamp,
            Arguments = [a.Index],
            LowLimit = low,
            HighLimit = high,
            Low = Int128.Clamp(a.Low, low, high),
            High = Int128.Clamp(a.High, low, high),
            Word = Word.For(low, high, _most),
            Step = a.Step,
            Unit = a.Unit,
            Error = Math.Min(a.Error, error ?? a.Error),
            Remark = remark,
        });

    /// <summary>Held a distance away from zero. A value nearer to zero than that has no exact counterpart.</summary>
    public Node HoldAway(string name, Node a, Int128 least, string remark) => a.LeastSize >= least
        ? a
        : Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.HoldAway,
            Arguments = [a.Index],
            LowLimit = least,
            Low = a.Low < 0 ? Int128.Min(a.Low, -least) : Int128.Max(a.Low, least),
            High = a.High < 0 ? Int128.Min(a.High, -least) : Int128.Max(a.High, least),
            Word = Word.For(a.Low < 0 ? Int128.Min(a.Low, -least) : least, Int128.Max(a.High, least), _most),
            Step = a.Step,
            Unit = a.Unit,
            Error = a.Error,
            Remark = remark,
        });

    /// <param name="places">A place of the table has 2^this steps of the argument, which is never negative and never beyond the last place.</param>
    /// <param name="deviation">How far the straight lines lie from the curve at most, in the unit of the result.</param>
    public Node Table(string name, Node a, int places, ImmutableArray<Int128> values, double step, string unit, double deviation, string remark)
    {
        Int128 rise = 0;
        Int128 fall = 0;
        for (int i = 1; i < values.Length; i++)
        {
            rise = Int128.Max(rise, values[i] - values[i - 1]);
            fall = Int128.Min(fall, values[i] - values[i - 1]);
        }

        (Int128 innerLow, Int128 innerHigh) = (fall << places, rise << places);
        Int128 low = values.Min();
        Int128 high = values.Max();
        double slope = (double)Int128.Max(rise, -fall) * step / Math.ScaleB(a.Step, places);
        return Add(new Node
        {
            Index = _nodes.Count,
            Name = name,
            Operation = Operation.Table,
            Arguments = [a.Index],
            Constant = places,
            Values = values,
            Low = low,
            High = high,
            Word = Word.For(low, high, _most),
            InnerLow = innerLow,
            InnerHigh = innerHigh,
            InnerWord = Chosen(innerLow, innerHigh, _product),
            Step = step,
            Unit = unit,
            Error = (slope * a.Error) + deviation + (0.5 * step) + (Half * step),
            Truncates = _truncates,
            Remark = remark,
        });
    }

    public Node Select(string name, Node inside, Node judged, Int128 low, Int128 high, Int128 otherwise, string remark) => Add(new Node
    {
        Index = _nodes.Count,
        Name = name,
        Operation = Operation.Select,
        Arguments = [inside.Index, judged.Index],
        LowLimit = low,
        HighLimit = high,
        Constant = otherwise,
        Low = Int128.Min(inside.Low, otherwise),
        High = Int128.Max(inside.High, otherwise),
        Word = Word.For(Int128.Min(inside.Low, otherwise), Int128.Max(inside.High, otherwise), _most),
        Step = inside.Step,
        Unit = inside.Unit,
        Error = inside.Error,
        Remark = remark,
    });

    /// <summary>Runs it with numbers of any size.</summary>
    /// <param name="inputs">In the order of <see cref="Inputs"/>.</param>
    /// <param name="numbers">One for each node.</param>
    /// <returns>Whether it went through: false where something is divided by zero.</returns>
    public bool RunExact(ReadOnlySpan<Int128> inputs, Span<Int128> numbers) => Run(inputs, numbers, inWords: false);

    /// <summary>Runs it in the words of the processor: what does not fit loses its upper bits.</summary>
    public bool RunInWords(ReadOnlySpan<Int128> inputs, Span<Int128> numbers) => Run(inputs, numbers, inWords: true);

    /// <summary>The same with readings that differ: their sum is given.</summary>
    public bool RunOfSum(ReadOnlySpan<Int128> inputs, Int128 sum, Span<Int128> numbers) => Run(inputs, numbers, inWords: true, sum);

    private bool Run(ReadOnlySpan<Int128> inputs, Span<Int128> numbers, bool inWords, Int128? sum = null)
    {
        int next = 0;
        foreach (Node node in _nodes)
        {
            Int128 a = node.Arguments.Length > 0 ? numbers[node.Arguments[0]] : 0;
            Int128 b = node.Arguments.Length > 1 ? numbers[node.Arguments[1]] : 0;
            if (node.Operation == Operation.Divide && b == 0)
            {
                return false;
            }

            Int128 result = node.Operation switch
            {
                Operation.Input => inputs[next++],
                Operation.Constant => node.Constant,
                Operation.Sum => sum ?? a * node.Constant,
                Operation.Add => a + b,
                Operation.Subtract => a - b,
                Operation.Multiply => a * b,
                Operation.Shift => Rounding.Shift(a, (int)node.Constant, node.Truncates),
                Operation.Divide => Rounding.Divide(a, b, node.Truncates),
                Operation.Clamp => Int128.Clamp(a, node.LowLimit, node.HighLimit),
                Operation.HoldAway => a < 0 ? Int128.Min(a, -node.LowLimit) : Int128.Max(a, node.LowLimit),
                Operation.Table => Interpolate(node, a, inWords),
                _ => b >= node.LowLimit && b <= node.HighLimit ? a : node.Constant,
            };
            numbers[node.Index] = inWords ? node.Word.Wrap(result) : result;
        }

        return true;
    }

    private static Int128 Interpolate(Node node, Int128 place, bool inWords)
    {
        int places = (int)node.Constant;
        int last = node.Values.Length - 2;
        int index = (int)Int128.Clamp(place >> places, 0, last);
        Int128 product = (node.Values[index + 1] - node.Values[index]) * (place - ((Int128)index << places));
        return node.Values[index] + Rounding.Shift(inWords ? node.InnerWord.Wrap(product) : product, places, node.Truncates);
    }

    private Node Add(Node node)
    {
        _nodes.Add(node);
        return node;
    }

    private Word Chosen(Int128 low, Int128 high, int? bits) => bits is { } b ? new Word(b, low < 0) : Word.For(low, high, _most);

    private static (Int128 Low, Int128 High) Ends(Node a, Node b, Func<Int128, Int128, Int128> operation)
    {
        Int128 one = operation(a.Low, b.Low);
        Int128 two = operation(a.Low, b.High);
        Int128 three = operation(a.High, b.Low);
        Int128 four = operation(a.High, b.High);
        return (Int128.Min(Int128.Min(one, two), Int128.Min(three, four)), Int128.Max(Int128.Max(one, two), Int128.Max(three, four)));
    }

    private static double Same(Node a, Node b) => Math.Abs(a.Step - b.Step) <= 1e-9 * Math.Abs(a.Step)
        ? a.Step
        : throw new ArgumentException($"{a.Name} and {b.Name} have different steps.", nameof(b));

    /// <summary>What is left of an error when the rounding of the computation with doubles is taken off.</summary>
    private static double Rest(double error, double value) => Math.Abs(error) <= 1e-13 * Math.Abs(value) ? 0 : Math.Abs(error);
}
