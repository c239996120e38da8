using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What code a converter makes of a voltage, before rounding and before the ends of its range.</summary>
internal sealed class ConverterLaw
{
    private readonly ConverterStage _adc;
    private readonly double _whole;

    public ConverterLaw(ConverterStage adc)
    {
        _adc = adc;
        int bits = adc.Bipolar ? adc.Bits - 1 : adc.Bits;
        _whole = Math.ScaleB(1, bits);
        Range = adc.Bipolar ? (-_whole, _whole - 1) : (0, _whole - 1);
    }

    /// <summary>Least and greatest code.</summary>
    public (double Low, double High) Range { get; }

    /// <summary>What of a unit it takes to say the code; the same for every voltage.</summary>
    /// <param name="Added">V at the input.</param>
    /// <param name="Factor">Codes per volt at the input times volts of the reference.</param>
    /// <param name="Nonlinearity">At its greatest, codes.</param>
    /// <param name="Bend">See <see cref="Analysis.Bend"/>.</param>
    public readonly record struct Errors(double Added, double Factor, double Nonlinearity, double Bend);

    /// <summary>The errors of a state's unit as it is.</summary>
    public Errors Of(UnitState state) => new(
        _adc.Offset is { } offset ? state.Value(offset) : 0,
        _adc.Gain * (1 + (_adc.GainError is { } gainError ? state.Value(gainError) : 0)) * _whole,
        _adc.Nonlinearity is { } nonlinearity ? state.Value(nonlinearity) : 0,
        state.InputBend);

    /// <summary>The code.</summary>
    /// <param name="volts">At the input, V.</param>
    /// <param name="reference">V.</param>
    public double Code(double volts, double reference, in Errors errors)
    {
        double code = (volts + errors.Added) * errors.Factor / reference;
        return code + (errors.Nonlinearity == 0 ? 0 : errors.Nonlinearity * Bend.Share((code - Range.Low) / (Range.High - Range.Low), errors.Bend));
    }
}
