using System.Collections.Immutable;
using System.Runtime.CompilerServices;

namespace Throughline.Firmware;

/// <summary>One input that breaks the arithmetic, to be run again.</summary>
/// <param name="Exact">What the number should be.</param>
/// <param name="InWord">What is left of it in its word.</param>
public sealed record Counterexample(ArithmeticInputs Inputs, Int128 Exact, Int128 InWord);

/// <summary>A number that does not fit its word.</summary>
/// <param name="First">The first input that breaks it, codes counted upwards, the nominal calibration before the limits of the accepted ones; null when only the range says it.</param>
public sealed record Overflow(Node Node, Counterexample? First);

/// <summary>Error of the whole numbers at a code.</summary>
public readonly record struct CodeError(long Code, double Exact, double Error);

/// <summary>What is proved of an arithmetic and what a run over the codes shows.</summary>
public sealed class ArithmeticProof
{
    private const long MostCodesOfCheck = 1 << 13;
    private const long MostCodesToSearch = 1 << 20;

    private static readonly ConditionalWeakTable<ArithmeticDesign, ArithmeticProof> Known = [];

    private ArithmeticProof(ArithmeticDesign design)
    {
        Design = design;
        Overflows = [.. design.Program.Nodes.Where(n => !n.Fits).Select(n => new Overflow(n, Find(n)))];
        ZeroDivisors = [.. design.Program.Nodes.Where(n => n.Operation == Operation.Divide).Select(n => design.Program.Nodes[n.Arguments[1]]).Where(b => b.CanBeZero)];
        Divisors = [.. design.Program.Nodes.Where(n => n.Operation == Operation.Divide).Select(n => design.Program.Nodes[n.Arguments[1]])];
        long count = (long)design.Code.High - (long)design.Code.Low + 1;
        Stride = Math.Max(1, count / MostCodesOfCheck);
        foreach (CodeError error in Curve(Stride))
        {
            CodesRun++;
            if (Math.Abs(error.Error) > Math.Abs(Worst.Error))
            {
                Worst = error;
            }

            if (FirstBeyond is null && !(Math.Abs(error.Error) <= design.Allowed))
            {
                FirstBeyond = error;
            }
        }
    }

    public ArithmeticDesign Design { get; }

    public ImmutableArray<Overflow> Overflows { get; }

    /// <summary>Divisors that can be 0.</summary>
    public ImmutableArray<Node> ZeroDivisors { get; }

    public ImmutableArray<Node> Divisors { get; }

    /// <summary>Every so many codes were run; 1 is all of them.</summary>
    public long Stride { get; }

    public long CodesRun { get; }

    /// <summary>The greatest error of the unit as it was never calibrated, over the codes run.</summary>
    public CodeError Worst { get; }

    /// <summary>The first code with more error than allowed.</summary>
    public CodeError? FirstBeyond { get; }

    /// <summary>The proof of a design that has a program.</summary>
    public static ArithmeticProof Of(ArithmeticDesign design) => Known.GetValue(design, d => new ArithmeticProof(d));

    /// <summary>The error curve over the codes, of numbers of any size; codes whose value lies beyond the region that counts are left out.</summary>
    public IEnumerable<CodeError> Curve(long stride = 1)
    {
        Int128[] numbers = new Int128[Design.Program.Nodes.Count];
        long last = (long)Design.Code.High;
        for (long code = (long)Design.Code.Low; code <= last; code = code == last ? last + 1 : Math.Min(last, code + stride))
        {
            ArithmeticInputs inputs = Design.Nominal(code);
            double exact = Design.Exact(inputs);
            if (exact >= Design.Region.Low && exact <= Design.Region.High && Design.Run(inputs, numbers, inWords: false))
            {
                yield return new CodeError(code, exact, ((double)numbers[Design.Measurand.Index] * Design.Measurand.Step) - exact);
            }
        }
    }

    private Counterexample? Find(Node node)
    {
        Int128[] numbers = new Int128[Design.Program.Nodes.Count];
        long low = (long)Design.Code.Low;
        long high = (long)Design.Code.High;
        bool isWhole = high - low < MostCodesToSearch;
        IEnumerable<long> codes = isWhole ? Codes(low, high) : [low, high];
        foreach (bool nominal in new[] { true, false })
        {
            foreach (long code in codes)
            {
                foreach (ArithmeticInputs inputs in nominal ? [Design.Nominal(code)] : Design.Corners(code))
                {
                    if (!Design.Run(inputs, numbers, inWords: false))
                    {
                        continue;
                    }

                    Int128 exact = numbers[node.Index];
                    if (!node.Word.Holds(exact, exact))
                    {
                        return new Counterexample(inputs, exact, node.Word.Wrap(exact));
                    }
                }
            }
        }

        return null;

        static IEnumerable<long> Codes(long low, long high)
        {
            for (long code = low; code <= high; code++)
            {
                yield return code;
            }
        }
    }
}
