namespace Throughline.Firmware;

/// <summary>What may happen to a panel.</summary>
public enum PanelEventKind
{
    /// <summary>A key is pressed once.</summary>
    Key,

    /// <summary>A key for up or down is held until the value is at its end.</summary>
    Hold,

    /// <summary>The screen's time runs out.</summary>
    Time,

    /// <summary>The reading has become steady.</summary>
    Steady,

    /// <summary>The reading moves again.</summary>
    Moving,

    /// <summary>From now on a calibration, or what is entered for a trim, would be accepted.</summary>
    GoodSensor,

    /// <summary>From now on it would be refused.</summary>
    BadSensor,

    FailureComes,

    FailureGoes,
}

/// <summary>An event.</summary>
/// <param name="Index">The key from 0 at the left, or the failure in the order of the file; 0 for others.</param>
public readonly record struct PanelEvent(PanelEventKind Kind, int Index = 0);
