namespace Throughline.Firmware;

/// <summary>
/// What rounding does to the ratio ρ that least squares find in whole numbers, ρ = Σ w (y − x) / Σ w x with w = n x − Σ x, from the first standard and with weights of fewer places.
/// </summary>
/// <remarks>
/// Intervals multiply the largest weight by the largest error and divide by the least spread, as if these came together; this bound knows that they hang together. All lengths are in steps of the numbers.
/// <para>Rounded weights w' stand above and below, so a straight line comes out as it is: with s how far a standard lies beside its line, Σ w s = 0 (the normal equation) leaves Σ (w' − w)(sᵢ − s₁) / Σ w' x.</para>
/// <para>Errors e of the numbers themselves: with S = Σ (x − x̄)², Σ |x − x̄| / S is at most √(n / S) by the inequality of Cauchy and Schwarz.</para>
/// </remarks>
/// <param name="Standards">How many, three or more.</param>
/// <param name="LeastSpread">The least Σ w' x of an accepted calibration.</param>
/// <param name="Places">Binary places that the weights have lost.</param>
/// <param name="Rounded">By how much of their own step the weights may be off: a half, or one where they are cut off.</param>
/// <param name="Rise">The greatest distance of two standards.</param>
/// <param name="Off">The greatest y − x, from the first standard, of an accepted calibration.</param>
/// <param name="Window">The greatest |ρ| of an accepted calibration.</param>
/// <param name="OfX">Error of the x.</param>
/// <param name="OfY">Error of the y.</param>
internal readonly record struct LeastSquaresRounding(int Standards, double LeastSpread, int Places, double Rounded, double Rise, double Off, double Window, double OfX, double OfY)
{
    /// <summary>Bound of the ratio's error before it is rounded itself; infinite where the spread may vanish.</summary>
    public double Bound
    {
        get
        {
            double rounded = Places == 0 ? 0 : (Standards - 1) * Rounded;
            double squares = Math.ScaleB(LeastSpread - (rounded * Rise), Places) / Standards;
            if (!(squares > 0))
            {
                return double.PositiveInfinity;
            }

            double beside = Off + (Window * Rise);
            double ofWeights = rounded * beside / LeastSpread;
            double ofNumbers = Math.Sqrt(Standards / squares) * (OfY + ((1 + Window) * OfX));

            // Weights made of x that are a little wrong leave Σ w s a little beside zero.
            double ofBoth = 2 * Standards * OfX * beside / squares;
            return ofWeights + ofNumbers + ofBoth;
        }
    }
}
