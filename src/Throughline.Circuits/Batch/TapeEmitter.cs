using System.Reflection;
using System.Reflection.Emit;
using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;

namespace Throughline.Circuits;

/// <summary>
/// Turns phases of a tape into one method of straight vector code, so that numbers stay in registers: the same operations in the same order as
/// <see cref="TapeInterpreter"/>, on vectors of whatever width the machine has, two of them side by side to hide each other's waiting.
/// </summary>
internal sealed class TapeEmitter
{
    /// <summary>Beyond this the compiler no longer keeps track of which number is in which register.</summary>
    private const int MostSteps = 1500;
    private const int MostPairedSteps = 350;

    private readonly TapeCode _code;
    private readonly int _lanes;
    private readonly VectorMethods _vector;
    private readonly ILGenerator _il;
    private readonly DynamicMethod _method;
    private readonly int _pair;
    private readonly LocalBuilder _at;
    private readonly Dictionary<int, LocalBuilder[]> _locals = [];

    private TapeEmitter(TapeCode code, int lanes, int steps)
    {
        _code = code;
        _lanes = lanes;
        _vector = VectorMethods.Widest;
        _pair = steps <= MostPairedSteps && lanes % (2 * _vector.Lanes) == 0 ? 2 : 1;
        _method = new DynamicMethod("Tape", null, [typeof(double).MakeByRefType(), typeof(double).MakeByRefType()], typeof(TapeEmitter).Module, skipVisibility: true);
        _il = _method.GetILGenerator();
        _at = _il.DeclareLocal(typeof(double).MakeByRefType());
    }

    /// <summary>Compiles the phases from one to another; null where this machine cannot, or where there is too much for it to be worth while.</summary>
    public static TapeKernel? TryCompile(TapeCode code, int lanes, int from, int to, int mostIterations)
    {
        TapePhase[] phases = [.. code.Phases.Where(phase => phase.Phase >= from && phase.Phase <= to)];
        int steps = phases.Sum(static phase => phase.Instructions.Length);
        if (!RuntimeFeature.IsDynamicCodeCompiled || steps > MostSteps)
            return null;
        return new TapeEmitter(code, lanes, steps).Compile(phases, mostIterations);
    }

    private TapeKernel Compile(TapePhase[] phases, int mostIterations)
    {
        LocalBuilder lane = _il.DeclareLocal(typeof(int));
        Label top = _il.DefineLabel();
        _il.Emit(OpCodes.Ldarg_0);
        _il.Emit(OpCodes.Stloc, _at);
        _il.Emit(OpCodes.Ldc_I4_0);
        _il.Emit(OpCodes.Stloc, lane);
        _il.MarkLabel(top);
        foreach (TapePhase phase in phases)
        {
            if (phase.Iteration is { Points.Length: > 0 } iteration)
                EmitIteration(phase, iteration, mostIterations);
            else
                EmitSteps(phase);
        }

        int width = _pair * _vector.Lanes;
        _il.Emit(OpCodes.Ldloc, _at);
        _il.Emit(OpCodes.Ldc_I4, width * sizeof(double));
        _il.Emit(OpCodes.Conv_I);
        _il.Emit(OpCodes.Add);
        _il.Emit(OpCodes.Stloc, _at);
        _il.Emit(OpCodes.Ldloc, lane);
        _il.Emit(OpCodes.Ldc_I4, width);
        _il.Emit(OpCodes.Add);
        _il.Emit(OpCodes.Stloc, lane);
        _il.Emit(OpCodes.Ldloc, lane);
        _il.Emit(OpCodes.Ldc_I4, _lanes);
        _il.Emit(OpCodes.Blt, top);
        _il.Emit(OpCodes.Ret);
        return _method.CreateDelegate<TapeKernel>();
    }

    private void EmitSteps(TapePhase phase)
    {
        foreach (int step in phase.Steps)
        {
            LocalBuilder[] locals = Declare(step);
            for (int k = 0; k < _pair; k++)
            {
                EmitStep(_code.Tape[step], k);
                _il.Emit(OpCodes.Stloc, locals[k]);
            }
        }

        foreach (int step in phase.Steps)
        {
            if (_code.IsStored(step))
                EmitStore(_code.RowOf(step), _locals[step]);
        }
    }

    private void EmitIteration(TapePhase phase, TapeIteration iteration, int mostIterations)
    {
        LocalBuilder count = _il.DeclareLocal(typeof(int));
        foreach (TapePoint point in iteration.Points)
        {
            LocalBuilder[] locals = Declare(_code.StepOfInput(point.Input));
            for (int k = 0; k < _pair; k++)
            {
                EmitLoad(_code.RowOfInput[point.Input], k);
                _il.Emit(OpCodes.Stloc, locals[k]);
            }
        }

        _il.Emit(OpCodes.Ldc_I4_0);
        _il.Emit(OpCodes.Stloc, count);
        Label top = _il.DefineLabel();
        Label done = _il.DefineLabel();
        _il.MarkLabel(top);
        EmitSteps(phase);
        foreach (TapePoint point in iteration.Points)
        {
            LocalBuilder[] locals = _locals[_code.StepOfInput(point.Input)];
            for (int k = 0; k < _pair; k++)
            {
                EmitOperand(iteration.Settled, k);
                _il.Emit(OpCodes.Ldloc, locals[k]);
                EmitOperand(point.Next, k);
                _il.Emit(OpCodes.Call, _vector.Select);
                _il.Emit(OpCodes.Stloc, locals[k]);
            }
        }

        _il.Emit(OpCodes.Ldloc, count);
        _il.Emit(OpCodes.Ldc_I4_1);
        _il.Emit(OpCodes.Add);
        _il.Emit(OpCodes.Stloc, count);
        EmitOperand(iteration.Settled, 0);
        if (_pair == 2)
        {
            EmitOperand(iteration.Settled, 1);
            _il.Emit(OpCodes.Call, _vector.And);
        }

        _il.Emit(OpCodes.Call, _vector.Signs);
        _il.Emit(OpCodes.Conv_I4);
        _il.Emit(OpCodes.Ldc_I4, (1 << _vector.Lanes) - 1);
        _il.Emit(OpCodes.Beq, done);
        _il.Emit(OpCodes.Ldloc, count);
        _il.Emit(OpCodes.Ldc_I4, mostIterations);
        _il.Emit(OpCodes.Blt, top);
        _il.MarkLabel(done);
        foreach (TapePoint point in iteration.Points)
            EmitStore(_code.RowOfInput[point.Input], _locals[_code.StepOfInput(point.Input)]);
        _il.Emit(OpCodes.Ldarg_1);
        _il.Emit(OpCodes.Ldc_I4, (iteration.Phase - BatchEquations.FirstIteration) / 2 * sizeof(double));
        _il.Emit(OpCodes.Conv_I);
        _il.Emit(OpCodes.Add);
        _il.Emit(OpCodes.Dup);
        _il.Emit(OpCodes.Ldind_R8);
        _il.Emit(OpCodes.Ldloc, count);
        _il.Emit(OpCodes.Conv_R8);
        _il.Emit(OpCodes.Ldc_R8, (double)_pair * _vector.Lanes / _lanes);
        _il.Emit(OpCodes.Mul);
        _il.Emit(OpCodes.Add);
        _il.Emit(OpCodes.Stind_R8);
    }

    private LocalBuilder[] Declare(int step)
    {
        var locals = new LocalBuilder[_pair];
        for (int k = 0; k < _pair; k++)
            locals[k] = _il.DeclareLocal(_vector.Type);
        _locals[step] = locals;
        return locals;
    }

    private void EmitStep(TapeStep step, int k)
    {
        switch (step.Op)
        {
            case TapeOp.Final:
                EmitOperand(step.A, k);
                break;
            case TapeOp.MultiplySubtract:
                EmitOperand(step.A, k);
                _il.Emit(OpCodes.Call, _vector.Negate);
                EmitOperand(step.B, k);
                EmitOperand(step.C, k);
                _il.Emit(OpCodes.Call, _vector.MultiplyAdd);
                break;
            case TapeOp.Scale:
                EmitBits(step.A, k);
                EmitBits(step.B, k);
                EmitShift(_vector.ShiftLeft);
                _il.Emit(OpCodes.Call, _vector.AddBits);
                _il.Emit(OpCodes.Call, _vector.AsDouble);
                break;
            case TapeOp.Exponent:
                EmitPower(step.A, k);
                _il.Emit(OpCodes.Call, _vector.ToDouble);
                break;
            case TapeOp.Mantissa:
                EmitBits(step.A, k);
                EmitPower(step.A, k);
                EmitShift(_vector.ShiftLeft);
                _il.Emit(OpCodes.Call, _vector.SubtractBits);
                _il.Emit(OpCodes.Call, _vector.AsDouble);
                break;
            default:
                EmitOperand(step.A, k);
                if (step.B >= 0)
                    EmitOperand(step.B, k);
                if (step.C >= 0)
                    EmitOperand(step.C, k);
                _il.Emit(OpCodes.Call, _vector.Of(step.Op));
                break;
        }
    }

    private void EmitPower(int step, int k)
    {
        EmitBits(step, k);
        _il.Emit(OpCodes.Ldc_I8, TapeStep.RootHalf);
        _il.Emit(OpCodes.Call, _vector.CreateBits);
        _il.Emit(OpCodes.Call, _vector.SubtractBits);
        EmitShift(_vector.ShiftRight);
    }

    private void EmitBits(int step, int k)
    {
        EmitOperand(step, k);
        _il.Emit(OpCodes.Call, _vector.AsBits);
    }

    private void EmitShift(MethodInfo shift)
    {
        _il.Emit(OpCodes.Ldc_I4, 52);
        _il.Emit(OpCodes.Call, shift);
    }

    private void EmitOperand(int step, int k)
    {
        TapeStep operand = _code.Tape[step];
        if (operand.Op == TapeOp.Constant)
        {
            // Through the bits, so that a mask stays one.
            _il.Emit(OpCodes.Ldc_I8, operand.Payload);
            _il.Emit(OpCodes.Call, _vector.CreateBits);
            _il.Emit(OpCodes.Call, _vector.AsDouble);
        }
        else if (_locals.TryGetValue(step, out LocalBuilder[]? locals))
        {
            _il.Emit(OpCodes.Ldloc, locals[k]);
        }
        else
        {
            EmitLoad(_code.RowOf(step), k);
        }
    }

    private void EmitLoad(int row, int k)
    {
        EmitAddress(row, k);
        _il.Emit(OpCodes.Unaligned, (byte)4);
        _il.Emit(OpCodes.Ldobj, _vector.Type);
    }

    private void EmitStore(int row, LocalBuilder[] locals)
    {
        for (int k = 0; k < _pair; k++)
        {
            EmitAddress(row, k);
            _il.Emit(OpCodes.Ldloc, locals[k]);
            _il.Emit(OpCodes.Unaligned, (byte)4);
            _il.Emit(OpCodes.Stobj, _vector.Type);
        }
    }

    private void EmitAddress(int row, int k)
    {
        _il.Emit(OpCodes.Ldloc, _at);
        _il.Emit(OpCodes.Ldc_I4, ((row * _lanes) + (k * _vector.Lanes)) * sizeof(double));
        _il.Emit(OpCodes.Conv_I);
        _il.Emit(OpCodes.Add);
    }

    /// <summary>The library's operations on vectors of one width.</summary>
    private sealed class VectorMethods
    {
        private readonly Type _static;
        private readonly Type _bits;
        private readonly Dictionary<TapeOp, MethodInfo> _operations;

        private VectorMethods(Type @static, Type vector, int lanes)
        {
            _static = @static;
            Lanes = lanes;
            Type = vector.MakeGenericType(typeof(double));
            _bits = vector.MakeGenericType(typeof(long));
            _operations = new Dictionary<TapeOp, MethodInfo>
            {
                [TapeOp.Add] = Find("Add", Type, Type),
                [TapeOp.Subtract] = Find("Subtract", Type, Type),
                [TapeOp.Multiply] = Find("Multiply", Type, Type),
                [TapeOp.Divide] = Find("Divide", Type, Type),
                [TapeOp.Negate] = Find("Negate", Type),
                [TapeOp.Abs] = Find("Abs", Type),
                [TapeOp.MultiplyAdd] = Find("FusedMultiplyAdd", Type, Type, Type),
                [TapeOp.Greater] = Find("GreaterThan", Type, Type),
                [TapeOp.GreaterOrEqual] = Find("GreaterThanOrEqual", Type, Type),
                [TapeOp.And] = Find("BitwiseAnd", Type, Type),
                [TapeOp.Or] = Find("BitwiseOr", Type, Type),
                [TapeOp.Select] = Find("ConditionalSelect", Type, Type, Type),
            };
        }

        public static VectorMethods Widest { get; } =
            Vector512.IsHardwareAccelerated ? new(typeof(Vector512), typeof(Vector512<>), 8)
            : Vector256.IsHardwareAccelerated ? new(typeof(Vector256), typeof(Vector256<>), 4)
            : new(typeof(Vector128), typeof(Vector128<>), 2);

        public int Lanes { get; }

        public Type Type { get; }

        public MethodInfo Negate => Of(TapeOp.Negate);

        public MethodInfo MultiplyAdd => Of(TapeOp.MultiplyAdd);

        public MethodInfo And => Of(TapeOp.And);

        public MethodInfo Select => Of(TapeOp.Select);

        public MethodInfo Signs => Find("ExtractMostSignificantBits", Type);

        public MethodInfo ShiftLeft => Find("ShiftLeft", _bits, typeof(int));

        public MethodInfo ShiftRight => Find("ShiftRightArithmetic", _bits, typeof(int));

        public MethodInfo AddBits => Find("Add", _bits, _bits);

        public MethodInfo SubtractBits => Find("Subtract", _bits, _bits);

        public MethodInfo ToDouble => Find("ConvertToDouble", _bits);

        public MethodInfo CreateBits => Find("Create", typeof(long));

        public MethodInfo AsBits => Find("AsInt64", Type);

        public MethodInfo AsDouble => Find("AsDouble", _bits);

        public MethodInfo Of(TapeOp op) => _operations[op];

        /// <summary>The method of that name for these operands, made for their numbers where it is generic.</summary>
        private MethodInfo Find(string name, params Type[] operands)
        {
            Type number = operands[0] == Type ? typeof(double) : typeof(long);
            foreach (MethodInfo method in _static.GetMethods(BindingFlags.Public | BindingFlags.Static))
            {
                if (method.Name != name || method.GetParameters().Length != operands.Length || (method.IsGenericMethodDefinition && method.GetGenericArguments().Length != 1))
                    continue;
                MethodInfo candidate;
                try
                {
                    candidate = method.IsGenericMethodDefinition ? method.MakeGenericMethod(number) : method;
                }
                catch (ArgumentException)
                {
                    continue;
                }

                if (candidate.GetParameters().Select(static parameter => parameter.ParameterType).SequenceEqual(operands))
                    return candidate;
            }

            throw new MissingMethodException(_static.Name, name);
        }
    }
}
