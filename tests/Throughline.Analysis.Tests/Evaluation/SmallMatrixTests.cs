using CsCheck;
using Xunit;

namespace Throughline.Analysis.Tests.Evaluation;

public sealed class SmallMatrixTests
{
    [Fact]
    public void Invert_TimesTheMatrix_IsTheIdentity() =>
        Gen.Double[-1, 1].Array[16].Sample(entries =>
        {
            double[,] matrix = new double[4, 4];
            for (int i = 0; i < 16; i++)
            {
                // Strong diagonal: never near singular, so that a plain bound on the product is fair.
                matrix[i / 4, i % 4] = entries[i] + (i / 4 == i % 4 ? 5 : 0);
            }

            double[,] inverse = SmallMatrix.Invert(matrix)!;
            for (int r = 0; r < 4; r++)
            {
                for (int c = 0; c < 4; c++)
                {
                    double sum = 0;
                    for (int k = 0; k < 4; k++)
                    {
                        sum += matrix[r, k] * inverse[k, c];
                    }

                    Assert.Equal(r == c ? 1 : 0, sum, 1e-12);
                }
            }
        });

    [Fact]
    public void Invert_OfASingularMatrix_IsNull() => Assert.Null(SmallMatrix.Invert(new double[,] { { 1, 2 }, { 2, 4 } }));
}
