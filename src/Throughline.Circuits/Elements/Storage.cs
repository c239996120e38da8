namespace Throughline.Circuits;

/// <summary>
/// A storage of energy or a lag: it adds <c>coefficient × d/dt (Σ weight × unknown)</c> to equations. A capacitor stores by its voltage, an
/// inductor by its current, an amplifier by its output.
/// </summary>
internal sealed record Storage(double Coefficient, (int Unknown, double Weight)[] Equations, (int Unknown, double Weight)[] State);

/// <summary>A source of noise that adds to equations with weights.</summary>
/// <param name="Element">Index of the element.</param>
/// <param name="Kind">What it is, in the trade's words.</param>
/// <param name="Density">Power density well above the corner, V²/Hz or A²/Hz.</param>
/// <param name="Corner">Frequency at which the 1/f part equals the white one, Hz; 0 is none.</param>
/// <param name="Equations">Where it enters.</param>
internal sealed record NoiseSource(int Element, string Kind, double Density, double Corner, (int Unknown, double Weight)[] Equations)
{
    /// <summary>C, exact in the SI of 2019.</summary>
    public const double ElementaryCharge = 1.602176634e-19;

    public double At(double hertz) => Density * (1 + (Corner / hertz));
}
