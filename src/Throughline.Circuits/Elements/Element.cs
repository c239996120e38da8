namespace Throughline.Circuits;

/// <summary>What an element did when it looked at a new iterate.</summary>
internal enum Advance
{
    /// <summary>The equations it wrote are its law at the iterate.</summary>
    Settled,

    /// <summary>Its linearisation moved; write again.</summary>
    Moved,

    /// <summary>It entered another piece of its law.</summary>
    Switched,

    /// <summary>It would have entered another piece but was not allowed to.</summary>
    WouldSwitch,
}

/// <summary>How a storage moves in time.</summary>
internal enum StorageMotion
{
    /// <summary>By its element's law.</summary>
    Free,

    /// <summary>Its state goes wherever the rest of the network takes it.</summary>
    Idle,

    /// <summary>Upwards at its greatest rate, which takes the place of the law.</summary>
    FullRateUp,

    /// <summary>Downwards at its greatest rate, which takes the place of the law.</summary>
    FullRateDown,
}

/// <summary>Name and default of one number of an element.</summary>
internal readonly record struct SlotDefinition(string Quantity, double Default);

/// <summary>
/// An element of a network: it says which unknowns and entries it needs, and writes its equations. Immutable once the network is built;
/// whatever changes during a solve lives in the <see cref="Workspace"/>. The sign convention everywhere: a node's equation is the sum of
/// the currents that leave the node, so a current into a pin counts positive at that pin's node.
/// </summary>
internal abstract class Element
{
    protected Element(string name) => Name = name;

    public string Name { get; }

    /// <summary>The trade's word for the kind, for messages.</summary>
    public abstract string Kind { get; }

    public int Index { get; set; }

    public int FirstSlot { get; set; }

    /// <summary>Index of its first own unknown.</summary>
    public int Branch { get; set; }

    /// <summary>Index of its first linearisation point.</summary>
    public int State { get; set; }

    /// <summary>Index of its first mode, the piece of a piecewise law that holds.</summary>
    public int Mode { get; set; }

    /// <summary>Index of its storage among the network's, for motion in time.</summary>
    public int Storage { get; set; }

    public abstract IReadOnlyList<SlotDefinition> Slots { get; }

    /// <summary>Number of own unknowns, and of equations beside those of the nodes.</summary>
    public virtual int BranchCount => 0;

    public virtual int StateCount => 0;

    public virtual int ModeCount => 0;

    /// <summary>1 when the element may store energy or lag.</summary>
    public virtual int StorageCount => 0;

    /// <summary>True when one linear solve is not enough.</summary>
    public virtual bool IsNonlinear => ModeCount + StateCount > 0;

    /// <summary>Node indices of its pins in the order of the builder's arguments; −1 for a pin left out.</summary>
    public abstract IReadOnlyList<int> Pins { get; }

    /// <summary>Pairs of pins that direct current joins.</summary>
    public abstract IReadOnlyList<(int First, int Second)> Paths { get; }

    /// <summary>Asks for the entries of the matrix that <see cref="Load(Workspace)"/> writes.</summary>
    public abstract void Declare(EquationPattern pattern);

    /// <summary>Adds its part of the equations and of their derivatives at the iterate.</summary>
    public abstract void Load(Workspace w);

    /// <summary>Sets linearisation points and modes for a solve from nothing.</summary>
    public virtual void Start(Workspace w)
    {
    }

    /// <summary>Follows a new iterate.</summary>
    /// <param name="w">Holds the iterate.</param>
    /// <param name="maySwitch">Whether it may enter another piece of its law.</param>
    public virtual Advance Follow(Workspace w, bool maySwitch) => Advance.Settled;

    /// <summary>The current that stands for the element, A.</summary>
    public virtual double Current(Workspace w) => w.X[Branch];

    /// <summary>Adds the derivative of <see cref="Current(Workspace)"/> with respect to every unknown.</summary>
    public virtual void AddCurrentGradient(Workspace w, double[] gradient) => gradient[Branch] += 1;

    /// <summary>Direct derivative of <see cref="Current(Workspace)"/> with respect to its first slot; 0 unless the slot says the current itself.</summary>
    public virtual double DirectCurrentDerivative(Workspace w) => 0;

    /// <summary>Unknown that holds its current, or −1 when none does.</summary>
    public virtual int CurrentUnknown => BranchCount > 0 ? Branch : -1;

    /// <summary>Currents into its pins, A; the rest to zero returns through the island's return.</summary>
    public abstract void PinCurrents(Workspace w, Span<double> amperes);

    /// <summary>Subtracts λ·∂F/∂slot for each of its slots; <paramref name="derivatives"/> begins at its first slot.</summary>
    public abstract void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives);

    /// <summary>What an own unknown is, for a message.</summary>
    public virtual string DescribeUnknown(int offset) => $"the current of {Name}";

    /// <summary>Adds its storages of energy or lags, for small changes about the solved point.</summary>
    public virtual void AddStorages(Workspace w, List<Storage> storages)
    {
    }

    /// <summary>Its storage for motion in time, whatever piece of its law holds; null when nothing of it lags at these values.</summary>
    public virtual Storage? CreateStorage(Workspace w) => null;

    /// <summary>How its storage moves in the piece of its law that holds.</summary>
    public virtual StorageMotion MotionOf(Workspace w) => StorageMotion.Free;

    /// <summary>Adds its sources of noise.</summary>
    public virtual void AddNoise(Workspace w, List<NoiseSource> sources)
    {
    }

    /// <summary>Writes its equations for many units at once: the same law as <see cref="Load(Workspace)"/>, in the pieces of the nominal point.</summary>
    public abstract void Load(BatchEquations e);

    /// <summary>Says where its linearisation points go from the unknowns that an iteration gave.</summary>
    public virtual void Follow(BatchEquations e)
    {
    }

    /// <summary>Says what a lane has to fulfil to be in the pieces of the nominal point.</summary>
    public virtual void Confine(BatchEquations e)
    {
    }

    /// <summary>The current that stands for the element, A.</summary>
    public virtual Expr Current(BatchEquations e) => e.X(Branch);
}
