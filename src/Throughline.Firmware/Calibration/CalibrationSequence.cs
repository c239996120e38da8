namespace Throughline.Firmware;

/// <summary>
/// A calibration as the user goes through it, with the same whole numbers as the C code: readings are offered until they are steady, taken standard by standard, and judged. What readings are made with
/// (<see cref="Working"/>) and what the user has entered are kept apart: the former changes only when a calibration is accepted, unless the file says that entered values count at once.
/// One thread at a time.
/// </summary>
/// <remarks>
/// Steady: since the reading last moved, least and greatest of all readings offered lie no farther apart than the file's band, and the time since then has reached the file's. A reading that makes the
/// band too wide begins anew with itself alone. A slow drift is so noticed too: it has used up the band some time.
/// </remarks>
public sealed class CalibrationSequence
{
    private readonly long[] _entered;
    private readonly long[] _taken;
    private readonly long[] _temperature;
    private readonly long[] _acceptedTaken;
    private readonly long[] _acceptedTemperature;
    private bool _hasAccepted;
    private bool _hasReading;
    private long _least;
    private long _greatest;
    private long _last;
    private long _lastTemperature;
    private long _steadyMilliseconds;

    /// <summary>A unit that was never calibrated, with the standards as stated in the file.</summary>
    public CalibrationSequence(CalibrationDesign design)
    {
        ArgumentNullException.ThrowIfNull(design);
        Design = design;
        _entered = [.. design.Standards.Select(s => s.Stated)];
        _taken = new long[design.Points];
        _temperature = new long[design.Points];
        _acceptedTaken = new long[design.Points];
        _acceptedTemperature = new long[design.Points];
    }

    public CalibrationDesign Design { get; }

    /// <summary>What readings are made with.</summary>
    public CalibrationKept Working { get; private set; }

    /// <summary>Whether a calibration has begun and was neither judged nor abandoned.</summary>
    public bool IsUnderWay { get; private set; }

    /// <summary>One bit for each standard whose reading was taken.</summary>
    public int Taken { get; private set; }

    public bool IsComplete => Taken == (1 << Design.Points) - 1;

    /// <summary>Whether the reading may be taken.</summary>
    public bool IsSteady => _hasReading && _steadyMilliseconds >= Design.SteadyMilliseconds;

    /// <summary>Whole seconds for which it has been steady, no more than it has to.</summary>
    public long SecondsSteady => _steadyMilliseconds / 1000;

    /// <summary>Value of a standard as entered, in steps of the measurand.</summary>
    public long Entered(int standard) => _entered[standard];

    /// <summary>Puts in what the settings memory holds; everything is held to its range. A calibration under way is abandoned.</summary>
    public void Load(CalibrationKept working, ReadOnlySpan<long> entered)
    {
        Abandon();
        Working = Design.Held(working);
        _hasAccepted = false;
        for (int i = 0; i < _entered.Length && i < entered.Length; i++)
        {
            _entered[i] = Math.Clamp(entered[i], Design.Standards[i].Low, Design.Standards[i].High);
        }
    }

    /// <summary>Begins a calibration: nothing is taken, and the reading has to become steady.</summary>
    public void Begin()
    {
        IsUnderWay = true;
        Taken = 0;
        Settle();
    }

    /// <summary>The reading has to become steady anew: another standard.</summary>
    public void Settle()
    {
        _hasReading = false;
        _steadyMilliseconds = 0;
    }

    /// <summary>A reading.</summary>
    /// <param name="uncalibrated">Of <see cref="ArithmeticDesign.Uncalibrated"/>.</param>
    /// <param name="temperature">0.01 °C; ignored where no temperature counts.</param>
    /// <param name="milliseconds">Since the reading before, 0 to 65535.</param>
    public void Offer(long uncalibrated, long temperature, long milliseconds)
    {
        (_last, _lastTemperature) = Design.HeldReading(uncalibrated, temperature);
        if (_hasReading)
        {
            long least = Math.Min(_least, _last);
            long greatest = Math.Max(_greatest, _last);
            if (greatest - least <= Design.SteadyWithin)
            {
                (_least, _greatest) = (least, greatest);
                _steadyMilliseconds = Math.Min(Design.SteadyMilliseconds, _steadyMilliseconds + Math.Clamp(milliseconds, 0, ushort.MaxValue));
                return;
            }
        }

        _hasReading = true;
        (_least, _greatest) = (_last, _last);
        _steadyMilliseconds = 0;
    }

    /// <summary>Enters the value of a standard, held to its range.</summary>
    public void Enter(int standard, long steps)
    {
        _entered[standard] = Math.Clamp(steps, Design.Standards[standard].Low, Design.Standards[standard].High);
        if (Design.EntriesCountAtOnce && _hasAccepted)
        {
            CalibrationResult now = Design.Judge(new CalibrationInputs([.. _entered], [.. _acceptedTemperature], [.. _acceptedTaken]));
            if ((now.Refusal & CalibrationRefusal.TooNear) == 0)
            {
                Working = now.Found;
            }
        }
    }

    /// <summary>Takes the last reading as that of a standard.</summary>
    /// <returns>False, and nothing is taken, while the reading is not steady or no calibration is under way.</returns>
    public bool Take(int standard)
    {
        if (!IsUnderWay || !IsSteady)
        {
            return false;
        }

        _taken[standard] = _last;
        _temperature[standard] = _lastTemperature;
        Taken |= 1 << standard;
        Settle();
        return true;
    }

    /// <summary>Computes the line and judges it. When it is accepted, readings are made with it from now on; else nothing changes. Either ends the calibration; one with a standard not taken goes on.</summary>
    public CalibrationResult Judge()
    {
        if (!IsUnderWay || !IsComplete)
        {
            return new CalibrationResult(CalibrationRefusal.Incomplete, 0, 0, default);
        }

        CalibrationResult result = Design.Judge(new CalibrationInputs([.. _entered], [.. _temperature], [.. _taken]));
        if (result.IsAccepted)
        {
            Working = result.Found;
            _taken.CopyTo(_acceptedTaken, 0);
            _temperature.CopyTo(_acceptedTemperature, 0);
            _hasAccepted = true;
        }

        Abandon();
        return result;
    }

    /// <summary>Ends a calibration. What readings are made with stays as it was; so do the entered values.</summary>
    public void Abandon()
    {
        IsUnderWay = false;
        Taken = 0;
        Settle();
    }
}
