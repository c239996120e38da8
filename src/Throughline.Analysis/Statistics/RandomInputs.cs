using System.Collections.Immutable;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>An input that is drawn: its name gives the stream of random numbers, see <see cref="StreamName"/>.</summary>
/// <param name="Name">Unique among the inputs.</param>
/// <param name="Distribution">In the unit of the input.</param>
public sealed record RandomInput(string Name, Distribution Distribution);

/// <summary>
/// Draws the inputs of a computation together: trial k of a seed always has the same values, whatever else is drawn. Immutable; safe on any thread.
/// </summary>
public sealed class RandomInputs
{
    private readonly double[,]? _factor;

    /// <param name="correlation">Row i belongs to input i; null when the inputs are independent. Normal inputs get just these coefficients; others are tied by
    /// normal scores (a Gaussian copula), which changes the coefficient by a few per cent and keeps each input's own distribution.</param>
    public RandomInputs(IEnumerable<RandomInput> inputs, CorrelationMatrix? correlation = null)
    {
        Inputs = [.. inputs];
        if (correlation is not null && correlation.Size != Inputs.Length)
        {
            throw new ArgumentException("The correlation matrix has a row for each input.", nameof(correlation));
        }

        _factor = correlation is { IsIdentity: false } ? correlation.Factor() : null;
    }

    public ImmutableArray<RandomInput> Inputs { get; }

    /// <summary>Draws consecutive trials. Independent inputs allocate nothing.</summary>
    /// <param name="source">Has the inputs' names, in their order, from <paramref name="firstColumn"/> on.</param>
    /// <param name="values">Column by column: input i of trial firstTrial + k at [i·trials + k], trials being the length over the number of inputs.</param>
    public void Fill(UniformSource source, ulong firstTrial, Span<double> values, int firstColumn = 0)
    {
        int trials = Inputs.IsEmpty ? 0 : values.Length / Inputs.Length;
        for (int i = 0; i < Inputs.Length; i++)
        {
            Span<double> column = values.Slice(i * trials, trials);
            source.Fill(firstColumn + i, firstTrial, column);
            if (_factor is null)
            {
                Inputs[i].Distribution.Quantiles(column, column);
            }
            else
            {
                StandardNormal.Quantiles(column, column);
            }
        }

        if (_factor is null)
        {
            return;
        }

        // From the last input to the first, so that each still finds the independent scores of those before it.
        for (int i = Inputs.Length - 1; i >= 0; i--)
        {
            Span<double> column = values.Slice(i * trials, trials);
            for (int k = 0; k < trials; k++)
            {
                double score = 0;
                for (int j = 0; j <= i; j++)
                {
                    score += _factor[i, j] * values[j * trials + k];
                }

                column[k] = Inputs[i].Distribution is NormalDistribution normal
                    ? normal.Mean + normal.StandardDeviation * score
                    : Inputs[i].Distribution.Quantile(Math.Clamp(StandardNormal.Cumulative(score), UnitInterval.Smallest, UnitInterval.Largest));
            }
        }
    }
}
