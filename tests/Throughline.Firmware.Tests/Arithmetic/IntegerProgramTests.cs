using System.Collections.Immutable;
using CsCheck;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>Ranges and rounding bounds of programs made at random, held against a run over every input.</summary>
public sealed class IntegerProgramTests
{
    private sealed record Step(int Kind, int A, int B, int Number);

    private static readonly Gen<Step[]> Programs = Gen.Select(Gen.Int[0, 7], Gen.Int[0, 99], Gen.Int[0, 99], Gen.Int[-9, 9], (k, a, b, n) => new Step(k, a, b, n)).Array[1, 9];

    private static readonly bool[] BothWays = [false, true];

    [Fact]
    public void RangeAndRounding_OverEveryInput_StayInsideTheirBounds() => Programs.Sample(steps =>
    {
        foreach (bool truncates in BothWays)
        {
            Hold(steps, truncates);
        }
    });

    private static void Hold(Step[] steps, bool truncates)
    {
        IntegerProgram program = new(32, truncates: truncates);
        List<Func<double[], double>> exact = [];
        List<Node> nodes = [program.Input("a", -6, 7, 0.5, "", 0, ""), program.Input("b", 1, 9, 0.5, "", 0, "")];
        exact.Add(v => v[0]);
        exact.Add(v => v[1]);
        foreach (Step step in steps)
        {
            int i = step.A % nodes.Count;
            int j = step.B % nodes.Count;
            (Node a, Node b) = (nodes[i], nodes[j]);
            (Func<double[], double> f, Func<double[], double> g) = (exact[i], exact[j]);
            (Node Node, Func<double[], double> Exact)? made = step.Kind switch
            {
                0 when a.Step == b.Step => (program.Add("x", a, b, ""), v => f(v) + g(v)),
                1 when a.Step == b.Step => (program.Subtract("x", a, b, ""), v => f(v) - g(v)),
                2 when Word.BitsFor(a.Low, a.High) + Word.BitsFor(b.Low, b.High) < 40 => (program.Multiply("x", a, b, "", ""), v => f(v) * g(v)),
                3 => (program.Shift("x", a, 1 + (step.B % 3), ""), f),
                4 when (b.Low > 0 || b.High < 0) && b.Error < Math.Min(Math.Abs(b.Least), Math.Abs(b.Greatest)) / 1e9 => (program.Divide("x", a, b, "", ""), v => f(v) / g(v)),
                5 => (program.Sum("x", a, 1 + (step.B % 5), ""), f),
                6 => (program.Constant("x", step.Number / 3.0, 0.25, "", ""), _ => step.Number / 3.0),
                7 when Word.BitsFor(a.Low, a.High) < 12 => Table(program, a, f, step.Number),
                _ => null,
            };
            if (made is { } m)
            {
                nodes.Add(m.Node);
                exact.Add(m.Exact);
            }
        }

        Int128[] numbers = new Int128[program.Nodes.Count];
        for (int a = -6; a <= 7; a++)
        {
            for (int b = 1; b <= 9; b++)
            {
                Assert.True(program.RunExact([a, b], numbers));
                for (int n = 0; n < nodes.Count; n++)
                {
                    Node node = nodes[n];
                    Int128 number = numbers[node.Index];
                    Assert.InRange(number, node.Low, node.High);
                    double value = exact[n]([a * 0.5, b * 0.5]);

                    // The reference is computed with doubles: a few units of their last place.
                    double slack = 1e-12 * (1 + Math.Abs(value) + node.Size);
                    Assert.True(Math.Abs(((double)number * node.Step) - value) <= node.Error + slack, $"{node.Operation}: {number} × {node.Step} for {value}, bound {node.Error}");
                }
            }
        }
    }

    /// <summary>A table that is a straight line, over the whole range of its argument: no deviation of its own.</summary>
    private static (Node, Func<double[], double>) Table(IntegerProgram program, Node a, Func<double[], double> f, int slope)
    {
        const int Places = 2;
        double start = (double)a.Low * a.Step;
        Node place = program.Subtract("place", a, program.Constant("start", a.Low, start, a.Step, "", ""), "");
        int count = (int)((a.High - a.Low + 3) >> Places) + 2;
        double Line(double x) => (slope * (x - start)) + 1;
        ImmutableArray<Int128> values = [.. Enumerable.Range(0, count).Select(i => (Int128)Math.Round(Line(start + ((i << Places) * a.Step)) / 0.25, MidpointRounding.AwayFromZero))];

        // Beyond the ends of the integer range the exact argument may still lie; the straight line goes on there.
        return (program.Table("x", place, Places, values, 0.25, "", 0, ""), v => Line(f(v)));
    }

    [Fact]
    public void RunInWords_WhereNothingOverflows_IsTheExactRun() => Programs.Sample(steps =>
    {
        IntegerProgram program = new(16);
        List<Node> nodes = [program.Input("a", -6, 7, 1, "", 0, ""), program.Input("b", 1, 9, 1, "", 0, "")];
        foreach (Step step in steps)
        {
            (Node a, Node b) = (nodes[step.A % nodes.Count], nodes[step.B % nodes.Count]);
            if (Word.BitsFor(a.Low, a.High) + Word.BitsFor(b.Low, b.High) < 30 && a.Step == b.Step)
            {
                nodes.Add(step.Kind % 3 == 0 ? program.Add("x", a, b, "") : step.Kind % 3 == 1 ? program.Subtract("x", a, b, "") : program.Multiply("x", a, b, "", ""));
            }
        }

        Int128[] exact = new Int128[program.Nodes.Count];
        Int128[] inWords = new Int128[program.Nodes.Count];
        bool differs = false;
        bool left = false;
        for (int a = -6; a <= 7; a++)
        {
            for (int b = 1; b <= 9; b++)
            {
                program.RunExact([a, b], exact);
                program.RunInWords([a, b], inWords);
                differs |= !exact.AsSpan().SequenceEqual(inWords);
                left |= program.Nodes.Any(n => !n.Word.Holds(exact[n.Index], exact[n.Index]));
            }
        }

        // Words make a difference exactly where a number left its word, and a proof by ranges never misses that.
        Assert.Equal(left, differs);
        Assert.False(left && program.Fits);
    });
}
