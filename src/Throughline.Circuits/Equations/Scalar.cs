using System.Numerics;
using System.Runtime.CompilerServices;

namespace Throughline.Circuits;

/// <summary>Magnitude of a number that a matrix may hold.</summary>
internal static class Scalar
{
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static double Size<T>(T value)
        where T : struct, INumberBase<T>
    {
        if (typeof(T) == typeof(double))
            return Math.Abs((double)(object)value);
        return typeof(T) == typeof(Complex) ? Complex.Abs((Complex)(object)value) : double.CreateChecked(T.Abs(value));
    }

    /// <summary>Magnitude to within a factor of √2, without a root.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static double RoughSize<T>(T value)
        where T : struct, INumberBase<T>
    {
        if (typeof(T) == typeof(Complex))
            return Math.Abs(((Complex)(object)value).Real) + Math.Abs(((Complex)(object)value).Imaginary);
        return Size(value);
    }
}
