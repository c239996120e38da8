using System.Collections.Immutable;
using System.Runtime.CompilerServices;

namespace Throughline.Firmware;

/// <summary>What is proved of a trim's whole numbers, and what a run over entries and codes shows.</summary>
public sealed class OutputTrimProof
{
    private const int Entries = 9;
    private const int Codes = 65;

    private static readonly ConditionalWeakTable<OutputTrimDesign, OutputTrimProof> Known = [];

    private OutputTrimProof(OutputTrimDesign design)
    {
        Design = design;
        Overflows = [.. design.Program.Nodes.Where(n => !n.Fits).Select(n => (n, Find(n)))];
        ZeroDivisors = [.. design.Program.Nodes.Where(n => n.Operation == Operation.Divide).Select(n => design.Program.Nodes[n.Arguments[1]]).Where(d => d.CanBeZero)];
        foreach ((long low, long high) in Pairs(Entries))
        {
            (long offset, long gain) = design.Fit(low, high);
            foreach (long steps in Between(design.Steps, Codes))
            {
                if (ErrorOf(low, high, offset, gain, steps) is { } error)
                {
                    Runs++;
                    Worst = Math.Max(Worst, Math.Abs(error));
                }
            }
        }
    }

    public OutputTrimDesign Design { get; }

    /// <summary>Numbers that do not fit their words, each with inputs that show it where any were found.</summary>
    public ImmutableArray<(Node Node, OutputTrimInputs? First)> Overflows { get; }

    /// <summary>Divisors that can be 0.</summary>
    public ImmutableArray<Node> ZeroDivisors { get; }

    public bool IsSound => Overflows.IsEmpty && ZeroDivisors.IsEmpty;

    /// <summary>Greatest distance from the line through the entries, beyond the half code that any code has, over <see cref="Runs"/>, in codes.</summary>
    public double Worst { get; private set; }

    public int Runs { get; private set; }

    public static OutputTrimProof Of(OutputTrimDesign design) => Known.GetValue(design, d => new OutputTrimProof(d));

    /// <summary>How much farther than half a code the whole numbers are from the line through two entries, in codes; null where the converter has no such code.</summary>
    public double? ErrorOf(long low, long high, long steps)
    {
        (long offset, long gain) = Design.Fit(low, high);
        return ErrorOf(low, high, offset, gain, steps);
    }

    private double? ErrorOf(long low, long high, long offset, long gain, long steps)
    {
        double exact = Design.Exact((double)steps / OutputTrimDesign.StepsPerCode, low, high);
        return exact < 0 || exact > Design.LastCode ? null : Math.Max(0, Math.Abs(Design.CodeOf(steps, offset, gain) - exact) - 0.5);
    }

    private OutputTrimInputs? Find(Node node)
    {
        Int128[] numbers = new Int128[Design.Program.Nodes.Count];
        foreach ((long low, long high) in Pairs(3))
        {
            foreach (long steps in Between(Design.Steps, 3))
            {
                foreach (long offset in Between(Design.Offset, 3))
                {
                    foreach (long gain in Between(Design.Gain, 3))
                    {
                        OutputTrimInputs inputs = new(low, high, steps, offset, gain);
                        if (Design.Run(inputs, numbers, inWords: false) && !node.Word.Holds(numbers[node.Index], numbers[node.Index]))
                        {
                            return inputs;
                        }
                    }
                }
            }
        }

        return null;
    }

    private IEnumerable<(long Low, long High)> Pairs(int count) => from low in Between(Design.ShownLow, count) from high in Between(Design.ShownHigh, count) select (low, high);

    /// <summary>Numbers over a node's range, its ends among them.</summary>
    private static IEnumerable<long> Between(Node node, int count) => Enumerable.Range(0, count).Select(i => (long)(node.Low + ((node.High - node.Low) * i / (count - 1)))).Distinct();
}
