namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    /// <summary>Open-loop gain that stands for an infinite one until it is known which amplifiers have feedback.</summary>
    private const double ProvisionalInverseGain = 1e-7;

    private Amplifier? _blamed;

    private Outcome FindPoint(OperatingPoint? from)
    {
        _blamed = null;
        _whole.Factors.Plan = _whole.Block.Plan ?? _whole.Factors.Plan;
        ResetContinuation();
        if (from is not null)
        {
            Begin(from);
            if (Iterate(DirectSteps) == Outcome.Solved || JumpAcross() == Outcome.Solved)
                return Outcome.Solved;
        }

        Begin();
        Outcome outcome = Iterate(DirectSteps);
        if (outcome == Outcome.Solved || _nonlinear.Length == 0)
            return outcome;
        _point.NeededContinuation = true;
        int[] rows = _remainingRows;
        int[] columns = _remainingColumns;
        Begin();
        if (JumpAcross() == Outcome.Solved || LeadGains() == Outcome.Solved || LeadConductance() == Outcome.Solved || LeadSources() == Outcome.Solved)
        {
            ResetContinuation();
            return Outcome.Solved;
        }

        ResetContinuation();
        if (outcome == Outcome.Singular)
        {
            _remainingRows = rows;
            _remainingColumns = columns;
        }

        return outcome;
    }

    private void ResetContinuation()
    {
        _w.Drive = 1;
        _w.JunctionConductance = 0;
        _w.InverseGain = 0;
        _w.JumpsAcross = false;
    }

    /// <summary>Goes on from where it is, amplifiers with positive feedback leaping from limit to limit.</summary>
    private Outcome JumpAcross()
    {
        if (_network.PossibleLatches.IsEmpty)
            return Outcome.NotSettled;
        _w.JumpsAcross = true;
        Outcome outcome = Iterate(DirectSteps);
        _w.JumpsAcross = false;
        return outcome;
    }

    private void Begin()
    {
        Array.Clear(_isTied);
        _hasTies = false;
        Array.Clear(_w.X);
        foreach (Element element in _nonlinear)
            element.Start(_w);
    }

    private void Begin(OperatingPoint from)
    {
        Workspace other = from.Workspace;
        if (other.Unknowns != _w.Unknowns || other.States.Length != _w.States.Length || other.Modes.Length != _w.Modes.Length)
            throw new ArgumentException("The point is of another network.", nameof(from));
        other.X.CopyTo(_w.X, 0);
        other.States.CopyTo(_w.States, 0);
        other.Modes.CopyTo(_w.Modes, 0);
    }

    /// <summary>Infinite gains are first large: an amplifier without feedback then says which of its limits it runs into.</summary>
    private Outcome LeadGains()
    {
        ResetContinuation();
        Begin();
        _w.InverseGain = ProvisionalInverseGain;
        Outcome outcome = Iterate(2 * DirectSteps);
        if (outcome != Outcome.Solved)
            return outcome;
        Amplifier? loosest = FindLoosestAmplifier();
        _w.InverseGain = 0;
        outcome = Iterate(DirectSteps);
        _blamed = outcome == Outcome.Singular ? loosest : null;
        return outcome;
    }

    /// <summary>The infinite-gain amplifier that a large gain drives furthest: the one without feedback when that is the trouble.</summary>
    private Amplifier? FindLoosestAmplifier()
    {
        Amplifier? loosest = null;
        double furthest = 0;
        foreach (Element element in _nonlinear)
        {
            if (element is OpAmp amplifier && amplifier.IsIdealAndLinear(_w) && Math.Abs(amplifier.OutputVoltage(_w)) > furthest)
            {
                loosest = amplifier;
                furthest = Math.Abs(amplifier.OutputVoltage(_w));
            }
        }

        return loosest;
    }

    /// <summary>Conductance across every junction, from much to none.</summary>
    private Outcome LeadConductance()
    {
        ResetContinuation();
        Begin();
        _w.InverseGain = ProvisionalInverseGain;
        double factor = 0.1;
        double reached = double.NaN;
        double conductance = 0.1;
        Span<double> good = new double[_w.X.Length];
        for (int step = 0; step < 200; step++)
        {
            _w.JunctionConductance = conductance;
            if (Iterate(DirectSteps) == Outcome.Solved)
            {
                _w.X.CopyTo(good);
                reached = conductance;
                if (conductance < 1e-15)
                {
                    ResetContinuation();
                    return Iterate(DirectSteps);
                }

                factor = Math.Max(1e-3, factor * factor);
                conductance *= factor;
                continue;
            }

            if (double.IsNaN(reached))
                return Outcome.NotSettled;
            Resume(good);
            factor = Math.Sqrt(factor);
            if (factor > 0.97)
                return Outcome.NotSettled;
            conductance = reached * factor;
        }

        return Outcome.NotSettled;
    }

    /// <summary>Every independent source from nothing to its value.</summary>
    private Outcome LeadSources()
    {
        ResetContinuation();
        Begin();
        double reached = 0;
        double stride = 0.1;
        Span<double> good = new double[_w.X.Length];
        for (int step = 0; step < 400; step++)
        {
            double drive = Math.Min(1, reached + stride);
            _w.Drive = drive;
            if (Iterate(DirectSteps) == Outcome.Solved)
            {
                if (drive >= 1)
                    return Outcome.Solved;
                _w.X.CopyTo(good);
                reached = drive;
                stride *= 2;
                continue;
            }

            if (reached > 0)
                Resume(good);
            else
                Begin();
            stride *= 0.25;
            if (stride < 1e-5)
                return Outcome.NotSettled;
        }

        return Outcome.NotSettled;
    }

    /// <summary>Back to the last point that settled, its pieces and bends found again from its voltages.</summary>
    private void Resume(ReadOnlySpan<double> x)
    {
        x.CopyTo(_w.X);
        foreach (Element element in _nonlinear)
            element.Start(_w);
        for (int pass = 0; pass < 4; pass++)
        {
            foreach (Element element in _nonlinear)
                element.Follow(_w, true);
        }
    }
}
