using System.Globalization;
using System.Text;
using Throughline.Toolchains;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>
/// An integer program as a question in the language of solvers, in bit-vectors wide enough to hold every number exactly. Written from the program alone, with the meaning of its operations said a second time.
/// </summary>
/// <remarks>SMT-LIB 2.6, theory FixedSizeBitVectors and logic QF_BV.</remarks>
internal sealed class SmtText
{
    private readonly StringBuilder _text = new("(set-logic QF_BV)\n");
    private readonly IntegerProgram _program;
    private readonly int _width;

    private SmtText(IntegerProgram program, int width) => (_program, _width) = (program, width);

    /// <summary>Whether any numbers of its arguments, each in its proved range, give a number of this node beyond its own proved range or its word. No for every node: none ever can, by induction along the program.</summary>
    public static bool CanLeaveItsRange(IntegerProgram program, Node node)
    {
        int[] taken = [.. node.Arguments.Append(node.Index).Select(i => Word.BitsFor(program.Nodes[i].Low, program.Nodes[i].High))];

        // As narrow as the operation allows, for a solver works bit by bit: a product has the bits of both factors, a division takes twice the value and twice the divisor.
        int bits = node.Operation switch
        {
            Operation.Multiply => taken[0] + taken[1] + 1,
            Operation.Table => taken.Max() + Word.BitsFor(node.InnerLow, node.InnerHigh),
            _ => Math.Max(taken.Max(), Math.Max(Word.BitsFor(node.LowLimit, node.HighLimit), Word.BitsFor(Int128.Min(0, node.Constant), Int128.Max(0, node.Constant)))) + 2,
        };
        bits = node.Operation == Operation.Shift ? Math.Max(bits, (int)node.Constant + 3) : node.Operation == Operation.HoldAway ? bits + 1 : bits;
        SmtText smt = new(program, bits + 2);
        foreach (int i in node.Arguments.Distinct())
        {
            smt.Free(program.Nodes[i]);
        }

        smt.Define(node);
        Int128 low = Int128.Max(node.Low, node.Word.Least);
        Int128 high = Int128.Min(node.High, node.Word.Greatest);
        smt.Beyond(node, low, high);
        return smt.Solve().IsSatisfiable;
    }

    /// <summary>Inputs for which a node's number is beyond its word; null when there are none.</summary>
    public static Int128[]? Overflowing(IntegerProgram program, Node node)
    {
        int bits = program.Nodes.Take(node.Index + 1).Max(n => Math.Max(Word.BitsFor(n.Low, n.High), n.Operation == Operation.Table ? Word.BitsFor(n.InnerLow, n.InnerHigh) : 0)) + 3;
        SmtText smt = new(program, bits);
        foreach (Node n in program.Nodes.Take(node.Index + 1))
        {
            if (n.Operation is Operation.Input or Operation.Constant)
            {
                smt.Free(n);
            }
            else
            {
                smt.Define(n);
            }
        }

        smt.Beyond(node, node.Word.Least, node.Word.Greatest);
        (bool isSatisfiable, string said) = smt.Solve();
        if (!isSatisfiable)
        {
            return null;
        }

        return [.. program.Inputs.Select(i => i <= node.Index ? smt.Value(said, i) : program.Nodes[i].Low)];
    }

    private string Number(Int128 value)
    {
        UInt128 bits = (UInt128)(value & ((Int128.One << _width) - 1));
        return string.Create(CultureInfo.InvariantCulture, $"(_ bv{bits} {_width})");
    }

    private void Free(Node node) => _text.Append(
        CultureInfo.InvariantCulture,
        $"(declare-const n{node.Index} (_ BitVec {_width}))\n(assert (and (bvsge n{node.Index} {Number(node.Low)}) (bvsle n{node.Index} {Number(node.High)})))\n");

    private void Beyond(Node node, Int128 low, Int128 high) =>
        _text.Append(CultureInfo.InvariantCulture, $"(assert (or (bvslt n{node.Index} {Number(low)}) (bvsgt n{node.Index} {Number(high)})))\n");

    private void Define(Node node)
    {
        string a = node.Arguments.Length > 0 ? $"n{node.Arguments[0]}" : "";
        string b = node.Arguments.Length > 1 ? $"n{node.Arguments[1]}" : "";
        string value = node.Operation switch
        {
            Operation.Constant => Number(node.Constant),
            Operation.Sum => $"(bvmul {a} {Number(node.Constant)})",
            Operation.Add => $"(bvadd {a} {b})",
            Operation.Subtract => $"(bvsub {a} {b})",
            Operation.Multiply => $"(bvmul {a} {b})",
            Operation.Shift => Divided(a, Number(Int128.One << (int)node.Constant), node.Truncates),
            Operation.Divide => Divided(a, b, node.Truncates),
            Operation.Clamp => $"(ite (bvslt {a} {Number(node.LowLimit)}) {Number(node.LowLimit)} (ite (bvsgt {a} {Number(node.HighLimit)}) {Number(node.HighLimit)} {a}))",
            Operation.HoldAway =>
                $"(ite (and (bvsgt {a} {Number(-node.LowLimit)}) (bvslt {a} {Number(node.LowLimit)})) (ite (bvslt {a} {Number(0)}) {Number(-node.LowLimit)} {Number(node.LowLimit)}) {a})",
            Operation.Select => $"(ite (and (bvsge {b} {Number(node.LowLimit)}) (bvsle {b} {Number(node.HighLimit)})) {a} {Number(node.Constant)})",
            Operation.Table => Interpolated(node, a),
            _ => throw new InvalidOperationException($"{node.Operation} has no meaning here."),
        };
        _text.Append(CultureInfo.InvariantCulture, $"(define-fun n{node.Index} () (_ BitVec {_width}) {value})\n");
    }

    /// <summary>To the nearest, a half away from zero: (2|v| + |d|) / 2|d| with the sign of the quotient; or cut off.</summary>
    private string Divided(string value, string divisor, bool truncates)
    {
        string size = $"(ite (bvslt {value} {Number(0)}) (bvneg {value}) {value})";
        string by = $"(ite (bvslt {divisor} {Number(0)}) (bvneg {divisor}) {divisor})";
        string quotient = truncates ? $"(bvudiv {size} {by})" : $"(bvudiv (bvadd (bvmul {Number(2)} {size}) {by}) (bvmul {Number(2)} {by}))";
        return $"(ite (xor (bvslt {value} {Number(0)}) (bvslt {divisor} {Number(0)})) (bvneg {quotient}) {quotient})";
    }

    private string Interpolated(Node node, string place)
    {
        int places = (int)node.Constant;
        string result = "";
        for (int i = node.Values.Length - 2; i >= 0; i--)
        {
            Int128 start = (Int128)i << places;
            string product = $"(bvmul {Number(node.Values[i + 1] - node.Values[i])} (bvsub {place} {Number(start)}))";
            string part = $"(bvadd {Number(node.Values[i])} {Divided(product, Number(Int128.One << places), node.Truncates)})";
            result = result.Length == 0 ? part : $"(ite (bvslt {place} {Number(start + (Int128.One << places))}) {part} {result})";
        }

        return result;
    }

    private (bool IsSatisfiable, string Said) Solve()
    {
        string values = string.Join(' ', _program.Inputs.Select(i => $"n{i}").Where(n => _text.ToString().Contains($"(declare-const {n} ", StringComparison.Ordinal)));
        string question = _text + "(check-sat)\n" + (values.Length > 0 ? $"(get-value ({values}))\n" : "");
        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            (_, string said) = Tool.Run(folder, "z3", ["-smt2", "-T:100", "-in"], question);
            string answer = said.Split('\n')[0].Trim();
            Assert.True(answer is "sat" or "unsat", said + question[^Math.Min(400, question.Length)..]);
            return (answer == "sat", said);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>A number of the answer, written <c>(n3 #x00ff)</c> or <c>(n3 #b0101)</c>.</summary>
    private Int128 Value(string said, int index)
    {
        int at = said.IndexOf($"(n{index} #", StringComparison.Ordinal) + $"(n{index} #".Length;
        string digits = said[(at + 1)..said.IndexOf(')', at)];
        int bitsEach = said[at] == 'x' ? 4 : 1;
        Int128 value = 0;
        foreach (char digit in digits)
        {
            value = (value << bitsEach) + Convert.ToInt32(digit.ToString(), 16);
        }

        return new Word(_width, true).Wrap(value);
    }
}
