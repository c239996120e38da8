namespace Throughline.Circuits;

/// <summary>A number of every lane as a place on a tape: arithmetic with it writes further steps.</summary>
internal readonly record struct Expr(Tape Tape, int Index)
{
    /// <summary>Its number at the nominal values; 1 and 0 for a mask.</summary>
    public double Nominal => Tape.NominalOf(Index);

    /// <summary>When it is computed: 0 once and for all, more for what changes more often.</summary>
    public int Phase => Tape.PhaseOf(Index);

    public bool IsConstant => Phase == 0;

    public bool IsZero => IsConstant && Nominal == 0;

    public static Expr operator +(Expr a, Expr b) => a.Tape.Add(a, b);

    public static Expr operator -(Expr a, Expr b) => a.Tape.Subtract(a, b);

    public static Expr operator *(Expr a, Expr b) => a.Tape.Multiply(a, b);

    public static Expr operator /(Expr a, Expr b) => a.Tape.Divide(a, b);

    public static Expr operator -(Expr a) => a.Tape.Negate(a);

    public static Expr operator +(Expr a, double b) => a + a.Tape.Constant(b);

    public static Expr operator -(Expr a, double b) => a - a.Tape.Constant(b);

    public static Expr operator *(Expr a, double b) => a * a.Tape.Constant(b);

    public static Expr operator /(Expr a, double b) => a / a.Tape.Constant(b);

    public static Expr operator +(double a, Expr b) => b.Tape.Constant(a) + b;

    public static Expr operator -(double a, Expr b) => b.Tape.Constant(a) - b;

    public static Expr operator *(double a, Expr b) => b.Tape.Constant(a) * b;

    public static Expr operator /(double a, Expr b) => b.Tape.Constant(a) / b;

    public static Expr operator >(Expr a, Expr b) => a.Tape.Greater(a, b);

    public static Expr operator <(Expr a, Expr b) => a.Tape.Greater(b, a);

    public static Expr operator >=(Expr a, Expr b) => a.Tape.GreaterOrEqual(a, b);

    public static Expr operator <=(Expr a, Expr b) => a.Tape.GreaterOrEqual(b, a);

    public static Expr operator >(Expr a, double b) => a > a.Tape.Constant(b);

    public static Expr operator <(Expr a, double b) => a < a.Tape.Constant(b);

    public static Expr operator >=(Expr a, double b) => a >= a.Tape.Constant(b);

    public static Expr operator <=(Expr a, double b) => a <= a.Tape.Constant(b);

    public static Expr operator &(Expr a, Expr b) => a.Tape.And(a, b);

    public static Expr operator |(Expr a, Expr b) => a.Tape.Or(a, b);

    public Expr Abs() => Tape.Abs(this);

    public Expr AtLeast(double least) => Tape.Select(this > least, this, Tape.Constant(least));

    public Expr AtMost(double greatest) => Tape.Select(this < greatest, this, Tape.Constant(greatest));

    /// <summary>The greater of the two; the other one where this is NaN.</summary>
    public Expr AtLeast(Expr least) => Tape.Select(this > least, this, least);

    public Expr AtMost(Expr greatest) => Tape.Select(this < greatest, this, greatest);
}
