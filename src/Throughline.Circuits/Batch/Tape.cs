namespace Throughline.Circuits;

/// <summary>
/// A straight list of steps, each computed from earlier ones, once for all lanes. Steps with constant operands are done while the tape is written, equal steps
/// are written once, and every step knows its nominal number and when it has to be computed.
/// </summary>
internal sealed class Tape
{
    private const double Magic = 6755399441055744.0;

    private readonly List<TapeStep> _steps = [];
    private readonly List<double> _nominals = [];
    private readonly Dictionary<TapeStep, int> _places = [];

    public int Count => _steps.Count;

    public TapeStep this[int index] => _steps[index];

    public double NominalOf(int index) => _nominals[index];

    public int PhaseOf(int index) => _steps[index].Phase;

    public Expr Constant(double value) => Write(new TapeStep(TapeOp.Constant, 0, -1, -1, -1, BitConverter.DoubleToInt64Bits(value)), value);

    public Expr True => Mask(true);

    /// <summary>A number that lanes are given.</summary>
    /// <param name="number">Which of them.</param>
    /// <param name="phase">When it may have changed.</param>
    /// <param name="nominal">Its nominal number.</param>
    public Expr Input(int number, int phase, double nominal) => Write(new TapeStep(TapeOp.Input, phase, -1, -1, -1, number), nominal);

    public Expr Final(Expr a, int phase) => a.Phase >= phase ? a : Write(new TapeStep(TapeOp.Final, phase, a.Index, -1, -1, 0), a.Nominal);

    public Expr Add(Expr a, Expr b) =>
        a.IsZero ? b : b.IsZero ? a
        : IsNegated(b, out Expr positive) ? a - positive
        : Write(TapeOp.Add, a.Index < b.Index ? a : b, a.Index < b.Index ? b : a, a.Nominal + b.Nominal);

    public Expr Subtract(Expr a, Expr b) =>
        b.IsZero ? a : a.IsZero ? Negate(b)
        : IsNegated(b, out Expr positive) ? a + positive
        : Write(TapeOp.Subtract, a, b, a.Nominal - b.Nominal);

    public Expr Multiply(Expr a, Expr b)
    {
        // Nought times anything counts as nought: an entry that is not there.
        if (a.IsZero || b.IsZero)
            return Constant(0);
        if (a.IsConstant && !b.IsConstant)
            (a, b) = (b, a);
        if (b.IsConstant && !a.IsConstant && Math.Abs(b.Nominal) == 1)
            return b.Nominal == 1 ? a : Negate(a);
        if (IsNegated(a, out Expr positive))
            return Negate(positive * b);
        if (IsNegated(b, out positive))
            return Negate(a * positive);
        return Write(TapeOp.Multiply, a.Index < b.Index ? a : b, a.Index < b.Index ? b : a, a.Nominal * b.Nominal);
    }

    public Expr Divide(Expr a, Expr b)
    {
        if (a.IsZero)
            return a;
        if (b.IsConstant && Math.Abs(b.Nominal) == 1)
            return b.Nominal == 1 ? a : Negate(a);
        return IsNegated(b, out Expr positive) ? Negate(a / positive) : Write(TapeOp.Divide, a, b, a.Nominal / b.Nominal);
    }

    public Expr Negate(Expr a) => IsNegated(a, out Expr positive) ? positive : Write(TapeOp.Negate, a, -a.Nominal);

    public Expr Abs(Expr a) => Write(TapeOp.Abs, a, Math.Abs(a.Nominal));

    /// <summary>a b + c.</summary>
    public Expr MultiplyAdd(Expr a, Expr b, Expr c)
    {
        if (IsNegated(a, out Expr positive))
            return MultiplySubtract(positive, b, c);
        if (IsNegated(b, out positive))
            return MultiplySubtract(a, positive, c);
        if (IsUnit(a) || IsUnit(b) || c.IsZero || a.IsZero || b.IsZero || (a.IsConstant && b.IsConstant))
            return (a * b) + c;
        return Write(TapeOp.MultiplyAdd, a, b, c, Math.FusedMultiplyAdd(a.Nominal, b.Nominal, c.Nominal));
    }

    /// <summary>c − a b.</summary>
    public Expr MultiplySubtract(Expr a, Expr b, Expr c)
    {
        if (IsNegated(a, out Expr positive))
            return MultiplyAdd(positive, b, c);
        if (IsNegated(b, out positive))
            return MultiplyAdd(a, positive, c);
        if (IsUnit(a) || IsUnit(b) || c.IsZero || a.IsZero || b.IsZero || (a.IsConstant && b.IsConstant))
            return c - (a * b);
        return Write(TapeOp.MultiplySubtract, a, b, c, Math.FusedMultiplyAdd(-a.Nominal, b.Nominal, c.Nominal));
    }

    public Expr Greater(Expr a, Expr b) => Compare(TapeOp.Greater, a, b, a.Nominal > b.Nominal);

    public Expr GreaterOrEqual(Expr a, Expr b) => Compare(TapeOp.GreaterOrEqual, a, b, a.Nominal >= b.Nominal);

    public Expr And(Expr a, Expr b)
    {
        if (a.IsConstant)
            return a.Nominal != 0 ? b : a;
        if (b.IsConstant)
            return b.Nominal != 0 ? a : b;
        return a == b ? a : Write(TapeOp.And, a, b, a.Nominal * b.Nominal);
    }

    public Expr Or(Expr a, Expr b)
    {
        if (a.IsConstant)
            return a.Nominal != 0 ? a : b;
        if (b.IsConstant)
            return b.Nominal != 0 ? b : a;
        return a == b ? a : Write(TapeOp.Or, a, b, Math.Max(a.Nominal, b.Nominal));
    }

    public Expr Select(Expr mask, Expr a, Expr b) =>
        mask.IsConstant ? (mask.Nominal != 0 ? a : b)
        : a == b ? a
        : Write(TapeOp.Select, mask, a, b, mask.Nominal != 0 ? a.Nominal : b.Nominal);

    /// <summary>eˣ within 2 ulp for x from −690 to 600, and its value at the nearer end outside.</summary>
    /// <remarks>x = n ln 2 + r with ln 2 in two parts, then the Taylor polynomial of degree 12, whose remainder for |r| ≤ ½ ln 2 is below 2e-16.</remarks>
    public Expr Exp(Expr x)
    {
        x = x.AtMost(600).AtLeast(-690);
        Expr shifted = MultiplyAdd(x, Constant(1.4426950408889634), Constant(Magic));
        Expr n = shifted - Magic;
        Expr r = MultiplySubtract(n, Constant(6.93147180369123816490e-01), x);
        r = MultiplySubtract(n, Constant(1.90821492927058770002e-10), r);
        // In Estrin's order: short chains, since one lane's iteration waits for this.
        Expr r2 = r * r;
        Expr r4 = r2 * r2;
        Expr p01 = 1 + r;
        Expr p23 = Line(1.0 / 6, 1.0 / 2, r);
        Expr p45 = Line(1.0 / 120, 1.0 / 24, r);
        Expr p67 = Line(1.0 / 5040, 1.0 / 720, r);
        Expr p89 = Line(1.0 / 362880, 1.0 / 40320, r);
        Expr p1011 = Line(1.0 / 39916800, 1.0 / 3628800, r);
        Expr low = MultiplyAdd(p23, r2, p01);
        Expr middle = MultiplyAdd(p67, r2, p45);
        Expr high = MultiplyAdd(MultiplyAdd(r2, Constant(1.0 / 479001600), p1011), r2, p89);
        Expr sum = MultiplyAdd(MultiplyAdd(high, r4, middle), r4, low);
        return Write(TapeOp.Scale, sum, shifted, Math.Exp(x.Nominal));
    }

    /// <summary>ln x to about 1e-6 for normal x above 0: enough to choose a point to linearise at.</summary>
    public Expr RoughLog(Expr x)
    {
        Expr k = Write(TapeOp.Exponent, x, TapeStep.ExponentOf(x.Nominal));
        Expr m = Write(TapeOp.Mantissa, x, TapeStep.MantissaOf(x.Nominal));
        // ln m = 2 artanh((m − 1)/(m + 1)).
        Expr s = (m - 1) / (m + 1);
        Expr z = s * s;
        Expr series = MultiplyAdd(MultiplyAdd(z, Constant(2.0 / 5), Constant(2.0 / 3)), z, Constant(2));
        return MultiplyAdd(k, Constant(0.6931471805599453), s * series);
    }

    private Expr Line(double slope, double constant, Expr x) => MultiplyAdd(x, Constant(slope), Constant(constant));

    private static bool IsUnit(Expr a) => a.IsConstant && Math.Abs(a.Nominal) == 1;

    private bool IsNegated(Expr a, out Expr positive)
    {
        TapeStep step = _steps[a.Index];
        positive = step.Op == TapeOp.Negate ? new Expr(this, step.A) : a;
        return step.Op == TapeOp.Negate;
    }

    private Expr Compare(TapeOp op, Expr a, Expr b, bool nominal) =>
        a.IsConstant && b.IsConstant ? Mask(nominal) : Write(op, a, b, nominal ? 1 : 0);

    private Expr Mask(bool value) => Write(new TapeStep(TapeOp.Constant, 0, -1, -1, -1, value ? -1L : 0L), value ? 1 : 0);

    private Expr Write(TapeOp op, Expr a, double nominal) =>
        a.IsConstant ? Constant(nominal) : Write(new TapeStep(op, a.Phase, a.Index, -1, -1, 0), nominal);

    private Expr Write(TapeOp op, Expr a, Expr b, double nominal)
    {
        int phase = Math.Max(a.Phase, b.Phase);
        return phase == 0 ? Constant(nominal) : Write(new TapeStep(op, phase, a.Index, b.Index, -1, 0), nominal);
    }

    private Expr Write(TapeOp op, Expr a, Expr b, Expr c, double nominal)
    {
        int phase = Math.Max(a.Phase, Math.Max(b.Phase, c.Phase));
        return phase == 0 ? Constant(nominal) : Write(new TapeStep(op, phase, a.Index, b.Index, c.Index, 0), nominal);
    }

    private Expr Write(TapeStep step, double nominal)
    {
        if (!_places.TryGetValue(step, out int index))
        {
            index = _steps.Count;
            _places.Add(step, index);
            _steps.Add(step);
            _nominals.Add(nominal);
        }

        return new Expr(this, index);
    }
}
