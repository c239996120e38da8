namespace Throughline.Circuits;

/// <summary>An element between two nodes whose current, from the first to the second, is an unknown of its own.</summary>
internal abstract class TwoPin : Element
{
    private readonly int[] _pins;
    private int _entryFirst;
    private int _entrySecond;

    protected TwoPin(string name, NodeId first, NodeId second)
        : base(name) => _pins = [first.Index, second.Index];

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [(0, 1)];

    public override int BranchCount => 1;

    protected int First { get; private set; }

    protected int Second { get; private set; }

    /// <summary>Entries of the element's own equation.</summary>
    protected int OwnFirst { get; private set; }

    protected int OwnSecond { get; private set; }

    protected int OwnCurrent { get; private set; }

    public override void Declare(EquationPattern pattern)
    {
        First = pattern.Node(_pins[0]);
        Second = pattern.Node(_pins[1]);
        _entryFirst = pattern.Entry(First, Branch);
        _entrySecond = pattern.Entry(Second, Branch);
        OwnFirst = pattern.Entry(Branch, First);
        OwnSecond = pattern.Entry(Branch, Second);
        OwnCurrent = pattern.Entry(Branch, Branch);
    }

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = w.X[Branch];
        amperes[1] = -w.X[Branch];
    }

    protected void LoadCurrent(Workspace w)
    {
        double current = w.X[Branch];
        double[] matrix = w.Matrix;
        matrix[_entryFirst] += 1;
        matrix[_entrySecond] -= 1;
        w.AddCurrent(First, current);
        w.AddCurrent(Second, -current);
    }

    /// <summary>Writes <c>a (v₁ − v₂) + b i + constant = 0</c> as the element's own equation.</summary>
    protected void LoadOwn(Workspace w, double a, double b, double constant)
    {
        double[] x = w.X;
        double[] matrix = w.Matrix;
        double atFirst = x[First];
        double atSecond = x[Second];
        double current = b * x[Branch];
        matrix[OwnFirst] += a;
        matrix[OwnSecond] -= a;
        matrix[OwnCurrent] += b;
        w.Residual[Branch] += a * (atFirst - atSecond) + current + constant;
        w.Magnitude[Branch] += Math.Abs(a) * (Math.Abs(atFirst) + Math.Abs(atSecond)) + Math.Abs(current) + Math.Abs(constant);
    }

    protected void LoadCurrent(BatchEquations e)
    {
        e.Add(First, Branch, 1);
        e.Add(Second, Branch, -1);
    }

    /// <summary>Writes <c>a (v₁ − v₂) + b i + constant = 0</c> as the element's own equation.</summary>
    protected void LoadOwn(BatchEquations e, Expr a, Expr b, Expr constant)
    {
        e.Add(Branch, First, a);
        e.Add(Branch, Second, -a);
        e.Add(Branch, Branch, b);
        e.Add(Branch, constant);
    }
}
