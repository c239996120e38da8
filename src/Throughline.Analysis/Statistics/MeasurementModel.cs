namespace Throughline.Analysis;

/// <summary>What is measured as a function of its inputs. Pure: the same inputs give the same result on any thread.</summary>
/// <param name="inputs">In the order in which they were declared.</param>
public delegate double MeasurementModel(ReadOnlySpan<double> inputs);
