namespace Throughline.Analysis;

/// <summary>The ways in which a loop may be loaded or connected.</summary>
public enum LoopConditionKind
{
    /// <summary>A rated load, at that current and load at which the output is warmest.</summary>
    RatedLoad,

    /// <summary>Nothing between the terminals but the supply.</summary>
    ShortCircuit,

    Open,

    /// <summary>The wires exchanged, where the loop is fed from outside.</summary>
    Reversed,

    /// <summary>A supply in the receiver of a loop that the instrument feeds itself, aiding the current.</summary>
    ForeignSupply,

    /// <summary>The same with its poles exchanged.</summary>
    ForeignSupplyReversed,

    /// <summary>The clamps at the greatest ambient temperature.</summary>
    ClampLeakage,

    /// <summary>The receiver's end of the loop on the return of the sensor's side.</summary>
    ReceiverGrounded,
}
