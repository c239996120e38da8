namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    private double[] _keptX = [];
    private double[] _keptStates = [];
    private int[] _keptModes = [];

    /// <summary>
    /// A point on which an amplifier's feedback is positive solves the equations and is left at once, like a pencil on its tip. Where one of the amplifier's
    /// limits holds instead, that is the answer; where both do, it depends on what came before, and the point says so.
    /// </summary>
    private void LeaveUnstablePoints()
    {
        foreach (OpAmp amplifier in _network.PossibleLatches)
        {
            if (amplifier.StateOf(_w) != AmplifierState.Linear || !IsPositiveFeedback(amplifier))
                continue;
            Keep();
            bool holdsHigh = HoldsAt(amplifier, AmplifierState.AtPositiveLimit);
            bool holdsLow = HoldsAt(amplifier, AmplifierState.AtNegativeLimit);
            if (holdsHigh && holdsLow)
                _point.Caution = $"{amplifier.Name} has positive feedback and holds itself at either limit: which one depends on what came before. It is taken at the negative one.";
            else if (holdsHigh)
                HoldsAt(amplifier, AmplifierState.AtPositiveLimit);
            else if (!holdsLow)
                Restore();
            _whole.FactorsAreAtPoint = false;
        }
    }

    /// <summary>With e + δ = w/A, an offset δ moves the output against itself when the loop gain is below −1.</summary>
    private bool IsPositiveFeedback(OpAmp amplifier)
    {
        if (!_whole.FactorsAreAtPoint)
        {
            if (LoadAndFactor(_whole) != Outcome.Solved)
                return false;
            _whole.FactorsAreAtPoint = true;
        }

        Array.Clear(_gradient);
        amplifier.AddInternalOutput(_w, _gradient);
        _gradient[_w.Unknowns] = 0;
        _whole.Factors.SolveTransposed(_gradient, _adjoint);
        return -_adjoint[amplifier.Branch] * amplifier.FactorOfInputs(_w) < -1e-6;
    }

    private bool HoldsAt(OpAmp amplifier, AmplifierState state)
    {
        ResetContinuation();
        Begin();
        _w.Modes[amplifier.Mode] = (int)state;
        if (Iterate(DirectSteps) != Outcome.Solved)
            return false;
        bool isHigh = amplifier.StateOf(_w) is AmplifierState.AtPositiveLimit or AmplifierState.Sourcing;
        bool isLow = amplifier.StateOf(_w) is AmplifierState.AtNegativeLimit or AmplifierState.Sinking;
        return state == AmplifierState.AtPositiveLimit ? isHigh : isLow;
    }

    private void Keep()
    {
        if (_keptX.Length == 0)
        {
            _keptX = new double[_w.X.Length];
            _keptStates = new double[_w.States.Length];
            _keptModes = new int[_w.Modes.Length];
        }

        _w.X.CopyTo(_keptX, 0);
        _w.States.CopyTo(_keptStates, 0);
        _w.Modes.CopyTo(_keptModes, 0);
    }

    private void Restore()
    {
        ResetContinuation();
        _keptX.CopyTo(_w.X, 0);
        _keptStates.CopyTo(_w.States, 0);
        _keptModes.CopyTo(_w.Modes, 0);
    }
}
