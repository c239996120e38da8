namespace Throughline.Circuits;

/// <summary>A linearisation point that an iteration moves.</summary>
/// <param name="Input">Number of the input that holds it.</param>
/// <param name="Nominal">Where it is at the nominal point, V.</param>
/// <param name="Next">Step that says where it goes.</param>
internal sealed record TapePoint(int Input, double Nominal, int Next);

/// <summary>Steps of one phase that are repeated until every lane is settled.</summary>
internal sealed record TapeIteration(int Phase, TapePoint[] Points, int Settled);

/// <summary>A tape with what goes in, what is repeated and what is read.</summary>
internal sealed record CompiledTape(
    Tape Tape, int InputCount, int KelvinInput, IReadOnlyList<TapeIteration> Iterations, IReadOnlyList<Expr> Readings, Expr Settled);
