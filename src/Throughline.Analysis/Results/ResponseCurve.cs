using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>The frequency response close enough to be drawn.</summary>
/// <param name="Frequencies">Rising, Hz. Above <paramref name="EnvelopeFromHertz"/> the attenuation with averaging is the least in the neighbourhood of each.</param>
/// <param name="EnvelopeFromHertz">Where the zeros of the averaging lie closer than one can draw, Hz; NaN without averaging.</param>
/// <param name="Least50">Least attenuation from 49 to 51 Hz, averaging included, dB, positive.</param>
/// <param name="Least60">The same from 59 to 61 Hz.</param>
public sealed record ResponseCurve(ImmutableArray<FrequencyPoint> Frequencies, double EnvelopeFromHertz, double Least50, double Least60);
