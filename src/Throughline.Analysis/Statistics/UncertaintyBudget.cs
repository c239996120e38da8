using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>One line of an uncertainty budget.</summary>
/// <param name="Input">The input.</param>
/// <param name="Sensitivity">c, change of the result per change of the input.</param>
public sealed record BudgetTerm(UncertaintyInput Input, double Sensitivity)
{
    /// <summary>c u, with its sign, in the unit of the result.</summary>
    public double Contribution => Sensitivity * Input.StandardUncertainty;
}

/// <summary>An expanded uncertainty and how it came about.</summary>
/// <param name="Uncertainty">U = k u, in the unit of the result.</param>
/// <param name="CoverageFactor">k.</param>
/// <param name="DegreesOfFreedom">Those used for k, rounded down; infinite for the normal distribution.</param>
public sealed record ExpandedUncertainty(double Uncertainty, double CoverageFactor, double DegreesOfFreedom);

/// <summary>
/// What the second order of the model adds.
/// </summary>
/// <param name="Variance">To be added to the square of the standard uncertainty; may be negative.</param>
/// <param name="Shift">By how much the mean of the result differs from the model at the means of the inputs.</param>
/// <param name="StandardUncertainty">First and second order together.</param>
/// <param name="Dominates">More than first order: the model is too curved for the linear method, as at an extreme where all sensitivities vanish and a linear budget would state 0.</param>
public sealed record SecondOrder(double Variance, double Shift, double StandardUncertainty, bool Dominates);

/// <summary>The law of propagation of uncertainty (JCGM 100:2008, clause 5). Immutable.</summary>
public sealed class UncertaintyBudget
{
    private readonly CorrelationMatrix _correlation;

    private UncertaintyBudget(double estimate, ImmutableArray<BudgetTerm> terms, CorrelationMatrix? correlation)
    {
        _correlation = correlation ?? CorrelationMatrix.Independent(terms.Length);
        if (_correlation.Size != terms.Length)
        {
            throw new ArgumentException("The correlation matrix has a row for each input.", nameof(correlation));
        }

        if (terms.Select(t => t.Input.Name).Distinct(StringComparer.Ordinal).Count() != terms.Length)
        {
            throw new ArgumentException("Two inputs have the same name.", nameof(terms));
        }

        Estimate = estimate;
        Terms = terms;
        StandardUncertainty = Math.Sqrt(Math.Max(Covariance(this, this), 0));
    }

    /// <summary>The result.</summary>
    public double Estimate { get; }

    public ImmutableArray<BudgetTerm> Terms { get; }

    /// <summary>Combined standard uncertainty u: √(Σ Σ cᵢ cⱼ uᵢ uⱼ rᵢⱼ).</summary>
    public double StandardUncertainty { get; }

    /// <summary>
    /// Effective degrees of freedom ν = u⁴ / Σ(cᵢuᵢ)⁴/νᵢ (Welch, Satterthwaite; JCGM 100:2008, G.4), not rounded. Null where the formula doesn't hold: an input of
    /// finite degrees of freedom is correlated with another. Infinite when no input has finite ones or u is 0.
    /// </summary>
    public double? EffectiveDegreesOfFreedom
    {
        get
        {
            double sum = 0;
            for (int i = 0; i < Terms.Length; i++)
            {
                if (double.IsFinite(Terms[i].Input.DegreesOfFreedom) && Terms[i].Contribution != 0)
                {
                    if (_correlation.HasPartners(i))
                    {
                        return null;
                    }

                    sum += Math.Pow(Terms[i].Contribution, 4) / Terms[i].Input.DegreesOfFreedom;
                }
            }

            return sum > 0 ? Math.Pow(StandardUncertainty, 4) / sum : double.PositiveInfinity;
        }
    }

    /// <summary>
    /// The rectangular input beside which the others are small: their combined uncertainty is at most 0.3 of its own, so that the result is rectangular too; else null
    /// (EA-4/02 M, supplement 2, S9 and S10, from memory).
    /// </summary>
    public BudgetTerm? DominantRectangle
    {
        get
        {
            if (Terms.IsEmpty || !_correlation.IsIdentity)
            {
                return null;
            }

            BudgetTerm largest = Terms.MaxBy(t => Math.Abs(t.Contribution))!;
            double rest = Math.Sqrt(Terms.Where(t => t != largest).Sum(t => t.Contribution * t.Contribution));
            return largest.Input.Distribution is RectangularDistribution && largest.Contribution != 0 && rest <= 0.3 * Math.Abs(largest.Contribution) ? largest : null;
        }
    }

    /// <summary>A budget of known sensitivities.</summary>
    /// <param name="correlation">Row i belongs to term i; null when the inputs are independent.</param>
    public static UncertaintyBudget Create(double estimate, IEnumerable<BudgetTerm> terms, CorrelationMatrix? correlation = null) => new(estimate, [.. terms], correlation);

    /// <summary>A budget whose sensitivities come from the model: differences over ±u and ±u/2, extrapolated.</summary>
    /// <param name="correlation">Row i belongs to input i; null when the inputs are independent.</param>
    public static UncertaintyBudget Linearise(MeasurementModel model, IEnumerable<UncertaintyInput> inputs, CorrelationMatrix? correlation = null)
    {
        ImmutableArray<UncertaintyInput> all = [.. inputs];
        double[] x = [.. all.Select(i => i.Estimate)];
        double estimate = model(x);
        return new(estimate, [.. all.Select((input, i) => new BudgetTerm(input, Differences.First(model, x, i, input.StandardUncertainty)))], correlation);
    }

    /// <summary>The covariance of two results of the same inputs: Σ Σ aᵢ bⱼ uᵢ uⱼ rᵢⱼ (JCGM 100:2008, H.2.3).</summary>
    /// <exception cref="ArgumentException">The budgets don't have the same inputs.</exception>
    public static double Covariance(UncertaintyBudget first, UncertaintyBudget second)
    {
        if (!first.Terms.Select(t => t.Input).SequenceEqual(second.Terms.Select(t => t.Input)))
        {
            throw new ArgumentException("The two budgets have different inputs.", nameof(second));
        }

        double sum = 0;
        for (int i = 0; i < first.Terms.Length; i++)
        {
            for (int j = 0; j < first.Terms.Length; j++)
            {
                sum += first.Terms[i].Contribution * second.Terms[j].Contribution * first._correlation[i, j];
            }
        }

        return sum;
    }

    /// <summary>The correlation coefficient of two results of the same inputs; NaN when one has no uncertainty.</summary>
    public static double Correlation(UncertaintyBudget first, UncertaintyBudget second) =>
        Covariance(first, second) / (first.StandardUncertainty * second.StandardUncertainty);

    /// <summary>Expanded uncertainty with Student's factor for the effective degrees of freedom, rounded down (JCGM 100:2008, G.6.4). Where these are not
    /// defined the normal distribution serves.</summary>
    /// <param name="probability">Between 0 and 1, both excluded.</param>
    public ExpandedUncertainty Expand(double probability)
    {
        double degrees = EffectiveDegreesOfFreedom ?? double.PositiveInfinity;
        degrees = double.IsFinite(degrees) ? Math.Max(Math.Floor(degrees), 1) : degrees;
        double k = StudentT.CoverageFactor(probability, degrees);
        return new(k * StandardUncertainty, k, degrees);
    }

    /// <summary>The interval y ± U of <see cref="Expand"/>.</summary>
    /// <param name="probability">Between 0 and 1, both excluded.</param>
    public CoverageInterval Interval(double probability)
    {
        double u = Expand(probability).Uncertainty;
        return new(Estimate - u, Estimate + u);
    }

    /// <summary>Expanded uncertainty of a result that one rectangle dominates: k = p √3, 1.65 for 95 %.</summary>
    /// <param name="probability">Between 0 and 1, both excluded.</param>
    /// <returns>Null when none does, see <see cref="DominantRectangle"/>.</returns>
    public ExpandedUncertainty? ExpandRectangular(double probability)
    {
        Probability.Check(probability);
        double k = probability * Math.Sqrt(3);
        return DominantRectangle is null ? null : new(k * StandardUncertainty, k, double.PositiveInfinity);
    }

    /// <summary>The second-order terms Σ Σ (½ fᵢⱼ² + fᵢ fᵢⱼⱼ) uᵢ² uⱼ² (JCGM 100:2008, 5.1.2 note), from differences.</summary>
    /// <param name="model">That of the budget.</param>
    /// <exception cref="InvalidOperationException">Inputs are correlated: the terms hold for independent ones.</exception>
    public SecondOrder SecondOrder(MeasurementModel model)
    {
        if (!_correlation.IsIdentity)
        {
            throw new InvalidOperationException("The second-order terms hold for independent inputs only.");
        }

        double[] x = [.. Terms.Select(t => t.Input.Estimate)];
        double[] u = [.. Terms.Select(t => t.Input.StandardUncertainty)];
        double variance = 0, shift = 0;
        for (int i = 0; i < x.Length; i++)
        {
            for (int j = 0; j < x.Length; j++)
            {
                (double mixed, double third) = Differences.Higher(model, x, i, j, u[i], u[j]);
                variance += 0.5 * mixed * mixed + Terms[i].Contribution * third;
                shift += i == j ? 0.5 * mixed : 0;
            }
        }

        double first = StandardUncertainty * StandardUncertainty;
        return new(variance, shift, Math.Sqrt(Math.Max(first + variance, 0)), variance > first);
    }
}
