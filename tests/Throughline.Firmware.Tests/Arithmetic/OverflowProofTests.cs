using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>The proof by ranges against two that know nothing of ranges: a solver for bit-vectors, and every input of programs in words so small that all can be run.</summary>
public sealed class OverflowProofTests
{
    // Z3, an independent solver (SMT-LIB 2.6): node by node, arguments anywhere in their ranges, no result beyond its own.
    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    public void Ranges_OfEveryNumber_AreConfirmedByASolver(string name) => Confirm(ArithmeticDesign.Of(Sketches.Named(name))!.Program);

    [Fact]
    public void Ranges_OfTheOutputsTrim_AreConfirmedByASolver() => Confirm(OutputTrimDesign.Of(Sketches.Demo("hopper-bridge"))!.Program);

    private static void Confirm(IntegerProgram program)
    {
        Assert.True(program.Fits);
        int asked = 0;
        foreach (Node node in program.Nodes.Where(n => n.Operation is not (Operation.Input or Operation.Constant)))
        {
            asked++;
            Assert.False(SmtText.CanLeaveItsRange(program, node), node.Name);
        }

        Assert.True(asked >= 8);
    }

    // The whole program at once: the solver finds inputs of its own, and they are true ones.
    [Theory]
    [InlineData("49-narrow-sum")]
    [InlineData("50-narrow-product")]
    [InlineData("54-words-of-16-bits")]
    public void FirstOverflow_OfAFlawedDemo_IsFoundByASolverToo(string flaw)
    {
        ArithmeticDesign design = ArithmeticDesign.Of(Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "flawed", flaw + ".yaml")).Value))!;
        IntegerProgram program = design.Program;
        Node first = ArithmeticProof.Of(design).Overflows[0].Node;
        Int128[]? inputs = SmtText.Overflowing(program, first);
        Assert.NotNull(inputs);
        for (int i = 0; i < inputs.Length; i++)
        {
            Assert.InRange(inputs[i], program.Nodes[program.Inputs[i]].Low, program.Nodes[program.Inputs[i]].High);
        }

        Int128[] exact = new Int128[program.Nodes.Count];
        Assert.True(program.RunExact(inputs, exact));
        Assert.False(first.Word.Holds(exact[first.Index], exact[first.Index]));
    }

    /// <summary>
    /// Programs of up to eight operations in words of 4 to 6 bits, every pair of inputs run. What is proved never overflows. What is not proved need not overflow, ranges knowing nothing of how two
    /// numbers hang together: at least half of it truly does.
    /// </summary>
    [Fact]
    public void Fits_InWordsOfAFewBits_IsNeverWrong_AndSeldomTooStrict()
    {
        Random random = new(5);
        int proved = 0;
        int unproved = 0;
        int overflowing = 0;
        for (int trial = 0; trial < 4_000; trial++)
        {
            IntegerProgram program = Made(random);
            bool overflows = Overflows(program);
            Assert.False(program.Fits && overflows);
            proved += program.Fits ? 1 : 0;
            unproved += program.Fits ? 0 : 1;
            overflowing += overflows ? 1 : 0;
        }

        Assert.True(proved > 500 && unproved > 500, $"{proved} proved, {unproved} not");
        Assert.True(overflowing * 2 > unproved, $"{overflowing} of {unproved}");
    }

    private static IntegerProgram Made(Random random)
    {
        IntegerProgram program = new(random.Next(4, 7), truncates: random.Next(2) == 0);
        List<Node> nodes = [program.Input("a", -random.Next(6), random.Next(1, 7), 1, "", 0, ""), program.Input("b", random.Next(-3, 2), random.Next(2, 8), 1, "", 0, "")];
        int count = random.Next(1, 9);
        for (int i = 0; i < count; i++)
        {
            Node a = nodes[random.Next(nodes.Count)];
            Node b = nodes[random.Next(nodes.Count)];

            // Beyond some size nothing new is learnt: such a number has left its word long since.
            if (Word.BitsFor(a.Low, a.High) + Word.BitsFor(b.Low, b.High) > 40)
            {
                continue;
            }

            int number = random.Next(1, 7);
            Node? made = random.Next(8) switch
            {
                0 when a.Step == b.Step => program.Add("x", a, b, ""),
                1 when a.Step == b.Step => program.Subtract("x", a, b, ""),
                2 => program.Multiply("x", a, b, "", ""),
                3 => program.Shift("x", a, 1 + (number % 3), ""),
                4 when b.Low > 0 || b.High < 0 => program.Divide("x", a, b, "", ""),
                5 => program.Sum("x", a, number, ""),
                6 => program.Clamp("x", a, -number, number, ""),
                7 when a.Low >= 0 && a.High <= 8 => program.Table("x", a, 2, [number, -number, 2 * number], 1, "", 0, ""),
                _ => null,
            };
            if (made is not null)
            {
                nodes.Add(made);
            }
        }

        return program;
    }

    private static bool Overflows(IntegerProgram program)
    {
        Int128[] numbers = new Int128[program.Nodes.Count];
        (Node a, Node b) = (program.Nodes[program.Inputs[0]], program.Nodes[program.Inputs[1]]);
        for (Int128 i = a.Low; i <= a.High; i++)
        {
            for (Int128 j = b.Low; j <= b.High; j++)
            {
                Assert.True(program.RunExact([i, j], numbers));
                foreach (Node node in program.Nodes)
                {
                    if (!node.Word.Holds(numbers[node.Index], numbers[node.Index]) || (node.Operation == Operation.Table && InnerOverflows(node, numbers[node.Arguments[0]])))
                    {
                        return true;
                    }
                }
            }
        }

        return false;
    }

    private static bool InnerOverflows(Node table, Int128 place)
    {
        int index = (int)Int128.Clamp(place >> (int)table.Constant, 0, table.Values.Length - 2);
        Int128 product = (table.Values[index + 1] - table.Values[index]) * (place - ((Int128)index << (int)table.Constant));
        return !table.InnerWord.Holds(product, product);
    }
}
