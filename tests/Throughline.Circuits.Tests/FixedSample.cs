using CsCheck;

namespace Throughline.Circuits.Tests;

/// <summary>Runs a property on the same cases every time: a suite that may fail by itself teaches people to run it again.</summary>
internal static class FixedSample
{
    public static void Each<T>(this Gen<T> generator, int count, Action<T> property)
    {
        var source = new PCG(1, 20_240_607);
        for (int k = 0; k < count; k++)
        {
            T value = generator.Generate(source, null, out _);
            try
            {
                property(value);
            }
            catch (Exception exception)
            {
                throw new InvalidOperationException($"The property fails for {value}: {exception.Message}", exception);
            }
        }
    }
}
