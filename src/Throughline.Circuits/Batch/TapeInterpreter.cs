using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;

namespace Throughline.Circuits;

/// <summary>Carries out a tape's instructions one after the other, each over all lanes of a block.</summary>
internal static class TapeInterpreter
{
    /// <param name="instructions">What to do.</param>
    /// <param name="rows">First number of the first row.</param>
    /// <param name="lanes">Numbers in a row, a multiple of eight.</param>
    public static void Run(TapeInstruction[] instructions, ref double rows, int lanes)
    {
        foreach (TapeInstruction instruction in instructions)
        {
            ref double d = ref Unsafe.Add(ref rows, instruction.Target * lanes);
            ref double a = ref Unsafe.Add(ref rows, instruction.A * lanes);
            ref double b = ref Unsafe.Add(ref rows, instruction.B * lanes);
            ref double c = ref Unsafe.Add(ref rows, instruction.C * lanes);
            switch (instruction.Op)
            {
                case TapeOp.Final:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i));
                    break;
                case TapeOp.Add:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i) + Load(ref b, i));
                    break;
                case TapeOp.Subtract:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i) - Load(ref b, i));
                    break;
                case TapeOp.Multiply:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i) * Load(ref b, i));
                    break;
                case TapeOp.Divide:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i) / Load(ref b, i));
                    break;
                case TapeOp.Negate:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, -Load(ref a, i));
                    break;
                case TapeOp.Abs:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.Abs(Load(ref a, i)));
                    break;
                case TapeOp.MultiplyAdd:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.FusedMultiplyAdd(Load(ref a, i), Load(ref b, i), Load(ref c, i)));
                    break;
                case TapeOp.MultiplySubtract:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.FusedMultiplyAdd(-Load(ref a, i), Load(ref b, i), Load(ref c, i)));
                    break;
                case TapeOp.Greater:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.GreaterThan(Load(ref a, i), Load(ref b, i)));
                    break;
                case TapeOp.GreaterOrEqual:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.GreaterThanOrEqual(Load(ref a, i), Load(ref b, i)));
                    break;
                case TapeOp.And:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i) & Load(ref b, i));
                    break;
                case TapeOp.Or:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Load(ref a, i) | Load(ref b, i));
                    break;
                case TapeOp.Select:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.ConditionalSelect(Load(ref a, i), Load(ref b, i), Load(ref c, i)));
                    break;
                case TapeOp.Scale:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.Add(Load(ref a, i).AsInt64(), Vector512.ShiftLeft(Load(ref b, i).AsInt64(), 52)).AsDouble());
                    break;
                case TapeOp.Exponent:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, Vector512.ConvertToDouble(Power(Load(ref a, i))));
                    break;
                case TapeOp.Mantissa:
                    for (nuint i = 0; i < (nuint)lanes; i += 8)
                        Store(ref d, i, (Load(ref a, i).AsInt64() - Vector512.ShiftLeft(Power(Load(ref a, i)), 52)).AsDouble());
                    break;
                default:
                    throw new InvalidOperationException($"A tape has no instruction {instruction.Op}.");
            }
        }
    }

    /// <summary>Moves the points of the lanes that are not settled.</summary>
    /// <returns>True when every lane is.</returns>
    public static bool Advance(TapeCode code, TapeIteration iteration, ref double rows, int lanes)
    {
        ref double settled = ref Unsafe.Add(ref rows, code.RowOf(iteration.Settled) * lanes);
        bool all = true;
        foreach (TapePoint point in iteration.Points)
        {
            ref double at = ref Unsafe.Add(ref rows, code.RowOfInput[point.Input] * lanes);
            ref double next = ref Unsafe.Add(ref rows, code.RowOf(point.Next) * lanes);
            for (nuint i = 0; i < (nuint)lanes; i += 8)
            {
                Vector512<double> mask = Load(ref settled, i);
                all &= Vector512.EqualsAll(mask.AsInt64(), Vector512<long>.AllBitsSet);
                Store(ref at, i, Vector512.ConditionalSelect(mask, Load(ref at, i), Load(ref next, i)));
            }
        }

        return all;
    }

    private static Vector512<long> Power(Vector512<double> x) =>
        Vector512.ShiftRightArithmetic(x.AsInt64() - Vector512.Create(TapeStep.RootHalf), 52);

    private static Vector512<double> Load(ref double row, nuint lane) => Vector512.LoadUnsafe(ref row, lane);

    private static void Store(ref double row, nuint lane, Vector512<double> value) => value.StoreUnsafe(ref row, lane);
}
